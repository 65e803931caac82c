"""How late the legume can go in, and what it gives."""
