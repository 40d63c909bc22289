"""Parts -> places on offcuts, grain kept."""
