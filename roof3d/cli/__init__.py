"""The command line: the only room that prints, and the one that turns errors into messages."""
