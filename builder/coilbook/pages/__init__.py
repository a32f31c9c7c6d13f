"""Pages: one typed context per page, through Jinja, to strings; no files, no decisions."""
