"""The sums the crew needs: pure functions, each with its source."""
