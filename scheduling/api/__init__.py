"""The programming interface of jobs on the calendar and on the floor."""
