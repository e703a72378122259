# The predicates in their order: 0 met, 1 undecided for want of a fact, 2 falls short.

package speed

answers := [
	cover,
	bedding,
	slack,
	splice,
	gauge,
	sewer_size,
	sewer_test,
	sewer_tight,
	tracer,
	curb_stop,
	lid_height,
	lid_fastened,
	vent_openings,
	spoil,
	ladder,
	stone,
	sewer_depth,
	sloped_sides,
	footing,
	rim,
	room,
	voltage,
	pressure_test,
	working_pressure,
]

fine := {"sand", "screened", "native_fine"}

outside := {"in_right_of_way", "on_line"}

cover := 0 if cover_met

else := 2 if cover_short

else := 1

cover_short if {
	some cable in input.supply_cables
	some span in cable.spans
	span.location != "rising_to_termination"
	span.cover < 457200
}

cover_short if {
	some cable in input.supply_cables
	some span in cable.spans
	span.location != "rising_to_termination"
	span.wiring == "direct_burial"
	span.cover < 609600
}

cover_of(span) if {
	span.location == "rising_to_termination"
}

cover_of(span) if {
	span.location
	span.cover >= 609600
}

cover_of(span) if {
	span.location
	span.wiring != "direct_burial"
	span.cover >= 457200
}

cover_met if {
	every cable in input.supply_cables {
		every span in cable.spans {
			cover_of(span)
		}
	}
}

bedding := 0 if bedding_met

else := 2 if bedding_short

else := 1

bedding_short if {
	some cable in input.supply_cables
	cable.bedding
	not cable.bedding in fine
}

bedding_met if {
	every cable in input.supply_cables {
		cable.bedding in fine
	}
}

slack := 0 if slack_met

else := 2 if slack_short

else := 1

slack_short if {
	some cable in input.supply_cables
	cable.slack_at_basin == false
}

slack_short if {
	some cable in input.supply_cables
	cable.slack_at_panel == false
}

slack_met if {
	every cable in input.supply_cables {
		cable.slack_at_basin
		cable.slack_at_panel
	}
}

splice := 0 if splice_met

else := 2 if splice_short

else := 1

splice_short if {
	some cable in input.supply_cables
	cable.spliced
	cable.splice != "listed_direct_burial_kit"
}

splice_of(cable) if {
	cable.spliced == false
}

splice_of(cable) if {
	cable.splice == "listed_direct_burial_kit"
}

splice_met if {
	every cable in input.supply_cables {
		splice_of(cable)
	}
}

gauge := 0 if gauge_met

else := 2 if gauge_short

else := 1

gauge_short if {
	some cable in input.supply_cables
	cable.conductor_size < 3
}

gauge_met if {
	every cable in input.supply_cables {
		cable.conductor_size >= 3
	}
}

sewer_size := 0 if sewer_size_met

else := 2 if sewer_size_short

else := 1

sewer_size_short if {
	some sewer in input.building_sewers
	sewer.nominal_size < 6
}

sewer_size_met if {
	every sewer in input.building_sewers {
		sewer.nominal_size >= 6
	}
}

sewer_test := 0 if sewer_test_met

else := 2 if sewer_test_short

else := 1

sewer_test_short if {
	some sewer in input.building_sewers
	sewer.test_medium == "water"
	sewer.test_head < 3048000
}

sewer_test_short if {
	some sewer in input.building_sewers
	sewer.test_medium == "water"
	sewer.test_time < 900
}

sewer_test_of(sewer) if {
	sewer.test_medium != "water"
}

sewer_test_of(sewer) if {
	sewer.test_medium
	sewer.test_head >= 3048000
	sewer.test_time >= 900
}

sewer_test_met if {
	every sewer in input.building_sewers {
		sewer_test_of(sewer)
	}
}

sewer_tight := 0 if sewer_tight_met

else := 2 if sewer_tight_short

else := 1

sewer_tight_short if {
	some sewer in input.building_sewers
	sewer.test_leaked
}

sewer_tight_met if {
	every sewer in input.building_sewers {
		sewer.test_leaked == false
	}
}

tracer := 0 if tracer_met

else := 2 if tracer_short

else := 1

tracer_short if {
	some lateral in input.laterals
	lateral.tracer_offset > 152400
}

tracer_short if {
	some lateral in input.laterals
	lateral.tracer_size < 3
}

tracer_met if {
	every lateral in input.laterals {
		lateral.tracer_offset <= 152400
		lateral.tracer_size >= 3
	}
}

curb_stop := 0 if curb_stop_met

else := 2 if curb_stop_short

else := 1

curb_stop_short if {
	some lateral in input.laterals
	lateral.curb_stop
	not lateral.curb_stop in outside
}

curb_stop_met if {
	every lateral in input.laterals {
		lateral.curb_stop in outside
	}
}

lid_height := 0 if lid_height_met

else := 2 if lid_height_short

else := 1

lid_height_short if {
	some station in input.stations
	station.lid_above_grade < 50800
}

lid_height_short if {
	some station in input.stations
	station.lid_above_grade > 152400
}

lid_height_met if {
	every station in input.stations {
		station.lid_above_grade >= 50800
		station.lid_above_grade <= 152400
	}
}

lid_fastened := 0 if lid_fastened_met

else := 2 if lid_fastened_short

else := 1

lid_fastened_short if {
	some station in input.stations
	station.lid_fastened == false
}

lid_fastened_met if {
	every station in input.stations {
		station.lid_fastened
	}
}

vent_openings := 0 if vent_openings_met

else := 2 if vent_openings_short

else := 1

vent_openings_short if {
	some vent in input.vents
	some opening in vent.openings
	opening.horizontal < 3048000
	opening.above < 609600
}

vent_openings_of(opening) if {
	opening.horizontal >= 3048000
}

vent_openings_of(opening) if {
	opening.above >= 609600
}

vent_openings_met if {
	every vent in input.vents {
		every opening in vent.openings {
			vent_openings_of(opening)
		}
	}
}

spoil := 0 if spoil_met

else := 2 if spoil_short

else := 1

spoil_short if {
	some hole in input.excavations
	hole.spoil_setback < 609600
}

spoil_met if {
	every hole in input.excavations {
		hole.spoil_setback >= 609600
	}
}

ladder := 0 if ladder_met

else := 2 if ladder_short

else := 1

ladder_short if {
	some hole in input.excavations
	hole.depth >= 1219200
	hole.travel_to_ladder > 7620000
}

ladder_short if {
	some hole in input.excavations
	hole.depth >= 1219200
	hole.ladder_above_landing < 914400
}

ladder_of(hole) if {
	hole.depth < 1219200
}

ladder_of(hole) if {
	hole.depth
	hole.travel_to_ladder <= 7620000
	hole.ladder_above_landing >= 914400
}

ladder_met if {
	every hole in input.excavations {
		ladder_of(hole)
	}
}

stone := 0 if stone_met

else := 2 if stone_short

else := 1

stone_short if {
	input.site.largest_stone > 76200
}

stone_met if {
	input.site.largest_stone <= 76200
}

sewer_depth := 0 if sewer_depth_met

else := 2 if sewer_depth_short

else := 1

sewer_depth_short if {
	some sewer in input.building_sewers
	some shot in sewer.shots
	shot.ground - shot.invert < 965200
}

sewer_depth_met if {
	every sewer in input.building_sewers {
		every shot in sewer.shots {
			shot.ground - shot.invert >= 965200
		}
	}
}

sloped_sides := 0 if sloped_sides_met

else := 2 if sloped_sides_short

else := 1

sloped_sides_short if {
	some hole in input.excavations
	hole.protection == "sloped"
	2 * hole.slope_setback < 3 * hole.depth
}

sloped_sides_of(hole) if {
	hole.protection != "sloped"
}

sloped_sides_of(hole) if {
	hole.protection
	2 * hole.slope_setback >= 3 * hole.depth
}

sloped_sides_met if {
	every hole in input.excavations {
		sloped_sides_of(hole)
	}
}

footing := 0 if footing_met

else := 2 if footing_short

else := 1

footing_short if {
	some hole in input.excavations
	hole.footing_offset < hole.depth - hole.footing_depth
}

footing_met if {
	every hole in input.excavations {
		hole.footing_offset >= hole.depth - hole.footing_depth
	}
}

rim := 0 if rim_met

else := 2 if rim_short

else := 1

rim_short if {
	some station in input.stations
	station.basin_rim - station.finished_grade < 76200
}

rim_met if {
	every station in input.stations {
		station.basin_rim - station.finished_grade >= 76200
	}
}

room := 0 if room_met

else := 2 if room_short

else := 1

room_short if {
	some station in input.stations
	station.basin_inside_diameter * station.basin_inside_diameter * station.basin_height < input.site.bedrooms * 169901079552000000
}

room_met if {
	every station in input.stations {
		station.basin_inside_diameter * station.basin_inside_diameter * station.basin_height >= input.site.bedrooms * 169901079552000000
	}
}

voltage := 0 if voltage_met

else := 2 if voltage_short

else := 1

voltage_short if {
	some cable in input.supply_cables
	cable.load_current * cable.circuit_length > cable.circuit_voltage * 2286000000
}

voltage_met if {
	every cable in input.supply_cables {
		cable.load_current * cable.circuit_length <= cable.circuit_voltage * 2286000000
	}
}

pressure_test := 0 if pressure_test_met

else := 2 if pressure_test_short

else := 1

pressure_test_short if {
	some lateral in input.laterals
	some test in lateral.pressure_tests
	test.medium == "water"
	20 * (test.pressure_start - test.pressure_end) > test.pressure_start
}

pressure_test_of(test) if {
	test.medium != "water"
}

pressure_test_of(test) if {
	test.medium
	20 * (test.pressure_start - test.pressure_end) <= test.pressure_start
}

pressure_test_met if {
	every lateral in input.laterals {
		every test in lateral.pressure_tests {
			pressure_test_of(test)
		}
	}
}

working_pressure := 0 if working_pressure_met

else := 2 if working_pressure_short

else := 1

working_pressure_short if {
	some station in input.stations
	5 * station.main_pressure_peak > 4 * station.working_pressure
}

working_pressure_met if {
	every station in input.stations {
		5 * station.main_pressure_peak <= 4 * station.working_pressure
	}
}
