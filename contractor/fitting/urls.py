app_name = "fitting"
urlpatterns = []
