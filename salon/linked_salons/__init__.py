"""An owner of several salons: accounts proven together, and going over between them."""
