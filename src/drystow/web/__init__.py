"""The web page: Django, without a build step and without any request to the outside."""
