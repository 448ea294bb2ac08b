"""What a cue sheet says, and how it is put on paper."""
