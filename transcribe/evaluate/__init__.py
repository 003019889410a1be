"""Any result against a reference; used by tests and one command, never by the rooms before it."""
