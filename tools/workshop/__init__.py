"""What ./dev does, in plain standard-library Python: no package is there yet when it starts."""
