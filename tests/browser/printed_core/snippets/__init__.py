"""Small modules that Python runs, and a browser when they are printed."""
