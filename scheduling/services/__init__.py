"""What users do to the calendar, the floor and the messages, one module for each thing."""
