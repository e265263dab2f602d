"""The whole campaign, through the door."""
