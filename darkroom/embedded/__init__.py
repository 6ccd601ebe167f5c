"""The database engine ``darkroom.embedded``: PostgreSQL from a wheel, started when first needed.

Importing the settings starts nothing; opening a connection does. The server outlives the process
that started it, until ``manage.py up`` ends or ``manage.py database stop`` is called.
"""
