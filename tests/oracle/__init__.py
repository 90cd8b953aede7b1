"""An independent answer to "where do these rails cross", to fifty digits, written from the definitions alone."""
