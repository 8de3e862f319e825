"""The drawing office: the drawing set, alive in a browser on this machine alone."""
