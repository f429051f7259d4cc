"""The bench's own papers: for now the tables in the terminal."""
