"""Where each line of a drawing goes: pure geometry, for the page and for print."""
