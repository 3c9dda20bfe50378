"""0 Who is in which class? Takes roster files and calendars, gives people, numbers, school days; never contact data."""
