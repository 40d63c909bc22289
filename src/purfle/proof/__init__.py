"""The dry fit: reads the emitted files back and puts the parts together, sharing no code with what wrote them."""
