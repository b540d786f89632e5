"""What single screens show: the client view, the first steps, drafts."""
