"""What follows from what was judged: observations, duties, sentences, the record."""
