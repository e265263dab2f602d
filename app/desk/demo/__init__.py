"""An invented site to be tried: its people, two runs worked by them at the desk, and what is told of it."""
