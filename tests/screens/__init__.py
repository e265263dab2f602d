"""One test module for each thing that a person does, through the door."""
