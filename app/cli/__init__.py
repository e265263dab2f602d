"""The command line: what a person asks for at a terminal, answered in sentences."""
