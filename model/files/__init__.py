"""Files in and out: meshes by format, written whole or not at all."""
