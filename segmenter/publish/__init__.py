"""A lesson in, files out. No writer measures or decides."""
