"""The base of every "no" that a service gives to the person at the screen."""


class Refused(Exception):
    """Raised with a sentence that says what stands in the way."""
