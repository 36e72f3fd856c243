"""Ways in for sensors: what they say becomes a reading of a bay, kept like one of a person."""
