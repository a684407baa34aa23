from django.urls import path

from contractor.orders import views

app_name = "orders"
urlpatterns = [
    path("jobs/<int:number>/orders/", views.orders, name="orders"),
    path("jobs/<int:number>/orders/order.csv", views.order_table, name="table"),
    path("jobs/<int:number>/orders/order.pdf", views.order_pdf, name="pdf"),
]
