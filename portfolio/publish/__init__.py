"""Room 7, pages for an audience. Takes finished labels, gives a staged site. Never sees a child's record."""
