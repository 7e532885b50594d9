# Two images: `board`, the program, and `proxy`, Caddy with our Caddyfile.
# Nothing in either runs as root, and neither needs to write anywhere but into its volumes.

FROM python:3.11-slim-bookworm AS build
RUN pip install --no-cache-dir "uv>=0.13,<0.14"
WORKDIR /source
COPY . .
# Just what uv.lock names, by its hashes; everything is there as a wheel, so nothing is compiled.
RUN UV_PROJECT_ENVIRONMENT=/opt/fourth-hour UV_PYTHON_DOWNLOADS=never \
    uv sync --frozen --no-cache --no-dev --no-editable --compile-bytecode \
    --extra plan --extra postgres --extra sso

FROM caddy:2.11-alpine AS proxy
# A copy does not carry the right to low ports that the file came with: the kernel would not run it
# where that right was dropped, and in a container nobody needs it.
RUN cp /usr/bin/caddy /usr/bin/plain && mv /usr/bin/plain /usr/bin/caddy \
 && install -d -o 10001 -g 10001 /certificates
ENV XDG_DATA_HOME=/certificates XDG_CONFIG_HOME=/tmp
COPY Caddyfile /etc/caddy/Caddyfile
USER 10001:10001

FROM python:3.11-slim-bookworm AS board
RUN useradd --system --uid 10001 --user-group --home-dir /data ward \
 && install -d -o ward -g ward /data /backups /sheets
COPY --from=build /opt/fourth-hour /opt/fourth-hour
ENV PATH=/opt/fourth-hour/bin:$PATH PYTHONUNBUFFERED=1 FOURTH_HOUR_HOST=0.0.0.0
USER ward
# Where the SQLite file and the key are unless settings name others.
WORKDIR /data
EXPOSE 8321
HEALTHCHECK --interval=10s --timeout=5s --start-period=60s \
  CMD ["python", "-c", "import urllib.request as r; r.urlopen('http://127.0.0.1:8321/readyz', timeout=4)"]
CMD ["fourth-hour", "serve"]
