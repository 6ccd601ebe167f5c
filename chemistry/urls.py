from django.urls import URLPattern

app_name = "chemistry"
urlpatterns: list[URLPattern] = []
