-- comb lost in store: harvests emptied or closed that were not all loaded
SELECT harvest, comb, mass_g, estimated FROM store_losses ORDER BY mass_g DESC, harvest
