"""The life of a sowing and of a plant: entry kinds, phases, allowed transitions, fold."""
