"""Weather by the hour, the sun and the rain on a surface, and files of weather."""

from .model import Climate

__all__ = ["Climate"]
