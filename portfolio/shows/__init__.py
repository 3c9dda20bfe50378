"""Choose fairly. Takes works that may be shown, gives a choice with reasons. Never sees a name."""
