"""What a procedure says: TOML text to a typed model, faults gathered."""
