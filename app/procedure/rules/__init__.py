"""The rules of the trade, and the references of a procedure to itself."""
