"""What is kept: events in SQLite, one writer, hash-chained streams."""
