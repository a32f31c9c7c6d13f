"""A piece against what is documented, and among its peers; reasons as data, never prose."""
