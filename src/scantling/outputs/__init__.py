"""A plan on paper: files, drawings and documents."""
