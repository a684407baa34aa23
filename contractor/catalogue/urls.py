app_name = "catalogue"
urlpatterns = []
