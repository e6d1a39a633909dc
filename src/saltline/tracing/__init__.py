"""Shapes over a face as node lines, circles, crossings and regions."""
