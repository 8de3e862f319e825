"""What the margin tells when a thing on a drawing is touched, one kind a module."""
