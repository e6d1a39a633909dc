"""Specimen files, rig files and measured lists: text as descriptions, or every mistake in it."""
