"""The parts of a record that answer one question of its reader each, as plain data."""
