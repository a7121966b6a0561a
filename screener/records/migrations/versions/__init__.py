"""One file a step, in the order of their numbers. A published step is never edited; a new one is added."""
