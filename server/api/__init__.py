"""The JSON interface: routes by resource, the bodies they take and the answers they give."""
