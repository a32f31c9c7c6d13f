"""The scripts that pages ask for: data from Python, and what each file is joined from."""
