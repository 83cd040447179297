"""How the sample garments are drafted: measurements, drawing aids, one module a garment."""
