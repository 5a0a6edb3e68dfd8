"""The pages of a firm: its people, its visits by stage, what is handed over. Each page is reached through the gate."""
