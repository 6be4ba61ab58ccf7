"""Block operators: (state, block) to (state, block), whatever the split of the input."""
