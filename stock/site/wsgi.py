"""The door for a web server: `gunicorn stock.site.wsgi`."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "stock.site.settings")
# A phone in the walk-in does not wait for twenty seconds; it keeps its entry instead.
os.environ.setdefault("DATABASE_WAIT_SECONDS", "4")
application = get_wsgi_application()
