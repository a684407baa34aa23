from django.urls import path

from contractor.mail import views

app_name = "mail"
urlpatterns = [
    path("jobs/<int:number>/mail/", views.outbox, name="outbox"),
    path("mail/<int:message_id>/", views.message, name="message"),
    path("mail/<int:message_id>/again/", views.send_again, name="again"),
]
