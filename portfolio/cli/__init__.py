"""Door: the command line. Takes words, gives sentences or JSON, never decides."""
