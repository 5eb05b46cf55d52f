"""The door for a web server: `gunicorn stock.site.wsgi`."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
application = get_wsgi_application()
