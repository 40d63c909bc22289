"""The flow, read as a recipe: the only place that knows the order of the stages."""
