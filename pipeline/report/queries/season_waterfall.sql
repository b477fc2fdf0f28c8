-- where the wax of the latest season went
SELECT * FROM flow_by_group WHERE grouping = 'season' ORDER BY season DESC LIMIT 1
