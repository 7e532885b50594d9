FROM python:3.11-slim

RUN useradd --system --uid 10001 --home-dir /data ward \
 && install -d -o ward -g ward /data

COPY . /source
RUN pip install --no-cache-dir "/source[plan,postgres]" && rm -rf /source

USER ward
WORKDIR /data
VOLUME /data

ENV FOURTH_HOUR_DATABASE=sqlite:////data/fourth-hour.db \
    FOURTH_HOUR_HOST=0.0.0.0 \
    FOURTH_HOUR_PORT=8321
EXPOSE 8321

HEALTHCHECK --interval=10s --timeout=5s --start-period=20s \
  CMD ["python", "-c", "import urllib.request as r; r.urlopen('http://127.0.0.1:8321/readyz', timeout=4)"]

CMD ["fourth-hour", "serve"]
