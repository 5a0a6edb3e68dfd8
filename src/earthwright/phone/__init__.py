"""The same program in a phone's browser: the folder of files it is handed out as, and what answers inside the phone."""
