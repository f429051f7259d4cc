"""templategen: one spec file of a fretted instrument in, true-scale shop files out."""

__version__ = "0.1.0"
