"""A family's page: its sections and its card for the wall."""
