"""Statistics of groups: what is usual, from how many, and how surely."""
