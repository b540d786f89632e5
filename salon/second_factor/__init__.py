"""A second factor beside the password: codes of an app (TOTP) and recovery codes."""
