"""What was played: takes as Standard MIDI Files, written, read and compared."""
