"""What a row of each table may be: the models, and what is generated from them."""
