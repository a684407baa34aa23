import gc
import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "contractor.settings")
application = get_wsgi_application()

# What is loaded by now stays for good: without it in every sweep, a page full of drawings is made a fifth quicker.
gc.collect()
gc.freeze()
gc.set_threshold(10_000, 50, 100)
