"""Species data and wood formulas, each figure with its source and status."""
