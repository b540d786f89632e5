"""The WSGI entry point."""

import os

from django.core.wsgi import get_wsgi_application

from salon import signing_keys, storage_key

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "salon.settings")
application = get_wsgi_application()
signing_keys.signer()  # without a key nobody could sign: better not to start
storage_key.known()  # nor could anybody read what is stored
