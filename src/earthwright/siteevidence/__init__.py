"""Evidence for a whole site: several bonds, the metal between them, and all readings in their states together."""
