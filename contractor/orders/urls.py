from django.urls import path

from contractor.orders import views, views_site

app_name = "orders"
urlpatterns = [
    path("jobs/<int:number>/orders/", views.orders, name="orders"),
    path("jobs/<int:number>/orders/order.csv", views.order_table, name="table"),
    path("jobs/<int:number>/orders/order.pdf", views.order_pdf, name="pdf"),
    path("jobs/<int:number>/orders/place/<slug:supplier>/", views.place, name="place"),
    path("jobs/<int:number>/orders/more/", views.more_add, name="more"),
    path("jobs/<int:number>/orders/more/<int:more_id>/remove/", views.more_remove, name="more-remove"),
    path("jobs/<int:number>/orders/<int:order_number>/", views.order, name="order"),
    path("jobs/<int:number>/orders/<int:order_number>/cancel/", views.cancel, name="cancel"),
    path("jobs/<int:number>/site/deliveries/", views_site.deliveries, name="deliveries"),
    path("jobs/<int:number>/site/deliveries/count/", views_site.count, name="count"),
    path("jobs/<int:number>/site/deliveries/count-all/", views_site.count_all, name="count-all"),
    path("jobs/<int:number>/site/used/", views_site.used, name="used"),
    path("jobs/<int:number>/site/used/say/", views_site.say, name="say"),
]
