"""Light: the wavelength grid, reflectance, K/S and colour spaces."""
