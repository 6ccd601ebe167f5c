"""The pages of the place itself: signing in, people, house rules."""

from django.urls import path

from darkroom.views import access, house, people
from darkroom.views.components import components
from darkroom.views.health import health
from darkroom.views.theme import theme

app_name = "darkroom"
urlpatterns = [
    path("sign-in/", access.sign_in, name="sign-in"),
    path("sign-in/demo/<int:pk>/", access.demo_sign_in, name="demo-sign-in"),
    path("sign-out/", access.sign_out, name="sign-out"),
    path("welcome/<str:token>/", access.set_password, name="set-password"),
    path("open/<str:token>/", access.open_house, name="open-house"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/link/", people.password_link, name="password-link"),
    path("house/", house.rules, name="rules"),
    path("theme/", theme, name="theme"),
    path("components/", components, name="components"),
    path("health", health, name="health"),
]
