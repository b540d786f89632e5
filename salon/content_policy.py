"""What a page may load and where it may send: this service alone, no inline code."""

from csp.constants import NONE, SELF

DIRECTIVES = {
    "default-src": [NONE],
    "script-src": [SELF],
    "style-src": [SELF],
    "connect-src": [SELF],
    "font-src": [SELF],
    "form-action": [SELF],
    "manifest-src": [SELF],
    "worker-src": [SELF],
    "img-src": [SELF, "blob:", "data:"],
    "base-uri": [NONE],
    "frame-ancestors": [NONE],
    "object-src": [NONE],
}
