"""The web app: pages and a documented JSON interface, served on this computer."""
