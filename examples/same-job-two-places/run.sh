#!/bin/sh
# Holds one job against two places on two permit dates, corrections only.
# STORYSTICK names the command, if it is not on the path: STORYSTICK="cargo run -q --" sh examples/same-job-two-places/run.sh
job=$(dirname "$0")/kitchen-and-garage.toml
for place in demo/harlow-county demo/millrace; do
    for date in 2023-05-10 2024-09-01; do
        ${STORYSTICK:-storystick} inspect "$job" --at "$place" --permit-date "$date" --weight correction "$@"
    done
done
# Corrections are what this example is about: they are no failure of the script.
exit 0
