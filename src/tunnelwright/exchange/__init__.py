"""Files in and out, one module or package for each format."""
