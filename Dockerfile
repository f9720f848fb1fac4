# Builds the program and runs it as a user of its own; the embedded book, if it is used, lies in /data.
FROM rust:1.95-bookworm AS build
WORKDIR /src
COPY . .
RUN cargo build --release --locked

# The database's own image, for its pg_dump and pg_restore, which make and open the copies of a book in PostgreSQL: they must not be
# older than the server. Nothing of the server itself is started here.
FROM postgres:17-bookworm
ENTRYPOINT []
RUN apt-get update && apt-get install -y --no-install-recommends ca-certificates && rm -rf /var/lib/apt/lists/* \
    && useradd --system --uid 10001 --user-group --home-dir /data --create-home gambrel
COPY --from=build /src/target/release/gambrel /usr/local/bin/gambrel
USER gambrel
WORKDIR /data
ENV GAMBREL_DATA=/data GAMBREL_LISTEN=0.0.0.0:8080
EXPOSE 8080
HEALTHCHECK --interval=10s --timeout=6s --start-period=30s CMD ["gambrel", "health"]
CMD ["gambrel", "serve"]
