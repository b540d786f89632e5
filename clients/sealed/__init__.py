"""Words about a client, encrypted under keys of that client which can be destroyed."""
