"""Before and after the push: reaction, rods, cone choice, grout."""
