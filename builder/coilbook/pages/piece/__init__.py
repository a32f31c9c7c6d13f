"""A piece's page: its sections, its observations, its card for the bench."""
