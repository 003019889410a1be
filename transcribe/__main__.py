"""Run the command line: ``python -m transcribe`` is ``takesheet``."""

from transcribe.cli.commands import main

if __name__ == "__main__":
    raise SystemExit(main())
