"""Real and simulated ports, the engine that plays the show over them, its watcher, and the link to the screens."""
