"""The window: a dressmaker's table, with the fitting notes as cards along its front edge."""
