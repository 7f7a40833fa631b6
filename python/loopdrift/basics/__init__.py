"""Units, the calendar, errors, files: what everything else stands on."""
