"""The show as a machine: (state, event) → (state, bytes to send, things to show)."""
