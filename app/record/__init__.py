"""What leaves the house: the record document, its PDF, its seal, its verification."""
