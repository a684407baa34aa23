from django.urls import path

from contractor.customers import views

app_name = "customers"
urlpatterns = [
    path("", views.customer_list, name="list"),
    path("new/", views.customer_new, name="new"),
    path("<int:customer_id>/", views.customer, name="customer"),
    path("<int:customer_id>/edit/", views.customer_edit, name="edit"),
    path("<int:customer_id>/properties/new/", views.property_new, name="property-new"),
    path("properties/<int:property_id>/", views.property_edit, name="property-edit"),
]
