"""The heats of all races of a night in turn, so that who races in two classes does not drive on end."""
