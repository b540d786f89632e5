"""Words about a client that lie encrypted, under keys of that client which can be destroyed."""
