"""The shared tablet: enrolled devices, PINs, who holds it, and the lock."""
