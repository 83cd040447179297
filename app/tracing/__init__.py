"""From somebody else's drawing, or a picture of paper, to checked pieces: what was found, what is asked, what follows.

Everything is a pure function of a file's content and the answers given, so that each step can be done again.
"""
