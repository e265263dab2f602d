"""The front desk: the only place where the pure core meets the outside."""
