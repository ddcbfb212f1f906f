"""What lands on disk: whole files or none. Each module writes one kind of file; nothing here needs Blender."""
