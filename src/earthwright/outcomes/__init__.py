"""What was judged, kept together with its evidence."""
