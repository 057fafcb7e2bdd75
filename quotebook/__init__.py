"""Quote workbooks for portable dance floors, checked to the cent when they come back."""

__version__ = "0.1.0"
