"""Addresses of the survey, and of what is worked out from it."""

from contractor.rooms.urls_results import urlpatterns as results_urls

app_name = "rooms"

survey_urls = []

urlpatterns = survey_urls + results_urls
