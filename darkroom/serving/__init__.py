"""What ``manage.py up`` runs: the house on this machine, from nothing to a page that answers."""
