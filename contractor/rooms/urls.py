app_name = "rooms"
urlpatterns = []
