"""Words typed to settings, one file a command; messages and exit codes."""
