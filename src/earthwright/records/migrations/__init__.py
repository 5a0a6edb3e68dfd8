"""Steps from one form of the journal to the next. They go forward only and touch no kept event."""
