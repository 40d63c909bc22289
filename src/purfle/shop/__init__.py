"""Cutters, machine, offcuts and fittings of this maker: load, check, save."""
