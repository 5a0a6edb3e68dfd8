"""What is there and what was done: installation, steps of a visit, readings, particulars."""
