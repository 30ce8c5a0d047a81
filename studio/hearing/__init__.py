"""The recogniser, its model, its journal, and the second hearing of unsure stretches."""
