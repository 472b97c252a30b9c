#!/bin/sh
# Gripbook on the Node that came with it.
exec /usr/lib/gripbook/node /usr/lib/gripbook/bin/gripbook.js "$@"
