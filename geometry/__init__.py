"""Flat pattern geometry: pure functions on frozen values, in mm, y up, outlines anticlockwise.

Nothing in this package opens a file or a window.
"""
