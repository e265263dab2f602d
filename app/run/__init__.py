"""What happens in a run: commands, events, state, interlocks. Pure."""
