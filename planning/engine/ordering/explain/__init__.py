"""Found orders as the buyer reads them: the last touch, the reasons, the warnings."""
