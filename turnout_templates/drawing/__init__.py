"""The display list: exact lines, areas, texts and marks at full size, and what can be asked of them."""
