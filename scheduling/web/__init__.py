"""Pages of the calendar, the floor, the job and the reminders."""
