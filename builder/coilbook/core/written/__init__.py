"""What people write: the grammar of values, and near misses."""
