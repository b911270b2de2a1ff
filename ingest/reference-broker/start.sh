#!/bin/sh
# Starts mosquitto with the configuration beside this file. Before that it
# - writes the collectors' password (COLLECTOR_PASSWORD) where the broker reads it, hashed;
# - makes an empty list of gateways the first time; `mosquitto_passwd -b /mosquitto/data/gateways NAME PASSWORD` and a
#   SIGHUP to the broker add to it;
# - tries the snapshot: a broker refuses to start with a damaged one. It is set aside, never deleted, and the broker
#   starts without its sessions, which crownwatch tells as a possible gap.
set -eu
config=${BROKER_CONFIG:-/etc/broker/mosquitto.conf}
data=${BROKER_DATA:-/mosquitto/data}
run=${BROKER_RUN:-/run/broker}
: "${COLLECTOR_PASSWORD:?must be set}"
case $COLLECTOR_PASSWORD in
  # mosquitto_passwd would take the rest for another field, and let nobody in.
  *:*) echo 'COLLECTOR_PASSWORD: must not hold a colon' >&2; exit 1 ;;
esac
umask 077

printf 'collector:%s\n' "$COLLECTOR_PASSWORD" > "$run/collectors"
mosquitto_passwd -U "$run/collectors"
mkdir -p "$data/conf.d"
[ -e "$data/gateways" ] || : > "$data/gateways"

snapshot="$data/mosquitto.db"
if [ -e "$snapshot" ]; then
  # A broker that only reads it: no port, no autosave, and killed as soon as it runs, so that nothing is written.
  cat > "$run/trial.conf" <<TRIAL
listener 0 $run/trial.sock
allow_anonymous true
persistence true
persistence_location $data/
autosave_interval 0
log_dest stderr
user $(id -un 2> /dev/null || echo mosquitto)
TRIAL
  mosquitto -c "$run/trial.conf" > "$run/trial.log" 2>&1 &
  trial=$!
  while kill -0 "$trial" 2> /dev/null && ! grep -q ' running$' "$run/trial.log" 2> /dev/null; do sleep 0.1; done
  if kill -9 "$trial" 2> /dev/null; then
    wait "$trial" 2> /dev/null || true
  elif ! grep -q "Couldn't open database" "$run/trial.log"; then
    # Not the snapshot's fault, so it stays.
    cat "$run/trial.log" >&2
    exit 1
  else
    aside="$snapshot.bad-$(date -u +%Y-%m-%dT%H%M%SZ)"
    mv "$snapshot" "$aside"
    echo "The snapshot of the broker is damaged; it was set aside as $aside, and queued messages are lost." >&2
  fi
  rm -f "$run/trial.conf" "$run/trial.sock" "$run/trial.log"
fi

exec mosquitto -c "$config"
