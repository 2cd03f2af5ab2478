"""Twelve invented days at the bench, played from intake to hand-over by the command line."""
