"""What can be shown of a procedure beforehand. Pure."""
