"""Run the command line: `python -m turnout_templates`."""

from turnout_templates.cli import main

if __name__ == "__main__":
    main()
