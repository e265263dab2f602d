"""Tests of Mirrorwright; `python -m tests` runs them with every other check."""
