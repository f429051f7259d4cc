"""The bench's own papers: printed pages of every drawing, and the tables in the terminal."""
