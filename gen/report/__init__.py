"""What an evaluation says, as findings, a page, tables and text."""
