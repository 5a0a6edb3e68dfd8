"""What readings can say: of a bond, of a ring, of the whole earth network."""
