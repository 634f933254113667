"""What a wall is made of: materials and films, their curves, and the contract that every entry meets."""

from .model import REFERENCE_TEMPERATURE, Curve, CurveLike, Film, Material, Source

__all__ = ["REFERENCE_TEMPERATURE", "Curve", "CurveLike", "Film", "Material", "Source"]
