FROM python:3.11-slim-bookworm AS build

COPY requirements/run.lock /build/run.lock
RUN python -m venv /venv \
 && /venv/bin/pip install --no-cache-dir --disable-pip-version-check --require-hashes \
    -r /build/run.lock

FROM python:3.11-slim-bookworm

ENV PATH=/venv/bin:$PATH \
    PYTHONUNBUFFERED=1 \
    PYTHONDONTWRITEBYTECODE=1 \
    DATA_DIR=/data

RUN useradd --system --uid 10001 --home-dir /data --create-home garden
COPY --from=build /venv /venv
WORKDIR /site
COPY manage.py ./
COPY templates ./templates
COPY garden_site ./garden_site
COPY lifecycle ./lifecycle
# A folder that is thrown away: the signing key made on the way must not stay in the image.
RUN DATA_DIR=/tmp/build python manage.py collectstatic --no-input --verbosity 0 \
 && rm -rf /tmp/build

USER garden
EXPOSE 8000
# The exec form, so that TERM reaches the server itself.
CMD ["gunicorn", "garden_site.wsgi:application", "--bind", "0.0.0.0:8000", \
     "--worker-class", "gthread", "--workers", "2", "--threads", "4", \
     "--worker-tmp-dir", "/dev/shm", "--no-control-socket"]
