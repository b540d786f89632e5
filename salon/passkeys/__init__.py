"""Passkeys (WebAuthn Level 3): one press in place of a password and a code."""
