"""Values against claims, and pieces against periods."""
