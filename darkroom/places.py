"""The pages of the place itself: signing in, people, house rules, equipment."""

from django.urls import URLPattern

app_name = "darkroom"
urlpatterns: list[URLPattern] = []
