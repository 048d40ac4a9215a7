"""Published equations, one function each, and their registry. numpy only, no tables, no I/O."""

from pushproof.equations.registry import Equation, equation, equations, find

__all__ = ["Equation", "equation", "equations", "find"]
