"""Completes the setting EMAIL_URL; imported by the settings themselves."""

SMTP = "salon.mailing.smtp.Backend"


def backend(named: str | None) -> str | None:
    """Return the product's own backend in place of Django's for SMTP."""
    return SMTP if named == "django.core.mail.backends.smtp.EmailBackend" else named
