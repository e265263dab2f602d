"""How fast, measured against what the disk and the framework cost in the same minute."""
