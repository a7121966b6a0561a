"""Before it is pressed: fits, interference, clearance left, force, heat, loose seats, seal seats, jobs. Pure."""
