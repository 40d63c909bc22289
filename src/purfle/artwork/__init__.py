"""Picture or drawing -> areas that share their boundaries."""
