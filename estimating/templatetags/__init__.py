"""Tags and filters about findings."""
