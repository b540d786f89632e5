"""The formulary's pages: a view receives, a form cleans, a service writes."""
