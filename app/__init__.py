"""Mirrorwright: a procedure is a text, a run is a list of events, the rest is computed."""
