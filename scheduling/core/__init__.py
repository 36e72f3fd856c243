"""Scheduling without Django: typed problems in, typed plans out, no clock and no settings."""
