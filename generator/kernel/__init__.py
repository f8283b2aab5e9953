"""The solid kernel: `worker` is the one child process that loads it, `service` the parent's side, which does not."""
