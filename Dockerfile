FROM python:3.11-slim-bookworm

ENV PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1 WETSIDE_DATA=/data
RUN useradd --create-home --uid 10001 wetside && mkdir /data && chown wetside /data
WORKDIR /house
COPY requirements.txt .
RUN pip install --no-cache-dir --require-hashes --only-binary :all: -r requirements.txt
COPY manage.py LICENSE ./
COPY darkroom darkroom
COPY chemistry chemistry
COPY sessions sessions
COPY templates templates
USER wetside
VOLUME /data
EXPOSE 8000
# Published on loopback by docker-compose.yml; whatever speaks TLS stands in front of that.
CMD ["sh", "-c", "python manage.py prepare && exec gunicorn darkroom.wsgi:application --bind 0.0.0.0:8000 --workers 2 --worker-class gthread --threads 4 --no-control-socket"]
