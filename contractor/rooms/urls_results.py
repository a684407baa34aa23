"""Addresses of treatments, predictions and the take-off."""

urlpatterns = []
