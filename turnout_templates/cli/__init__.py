"""The command line: words in, files and sentences out, one exit status for each way that it can end."""

from turnout_templates.cli.main import main

__all__ = ["main"]
