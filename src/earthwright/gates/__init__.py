"""What must be so before a step is taken."""
