"""What is drawn: figures, strips, silhouettes, codes."""
