-- one row per choice of logs whose weighings make a yield: what the gains of their scales add
-- kept: no
-- by_loads: whether loads are among them
-- by_blocks: whether blocks are
-- by_passes: whether passes are
-- gains_u2: variance relative to the yield's square; 0 where one scale weighed all, as its gain cancels
SELECT l.used AS by_loads, b.used AS by_blocks, p.used AS by_passes,
    (SELECT if(count(*) > 1, sum(relative ** 2), 0) FROM (SELECT DISTINCT scale, relative FROM scales
        WHERE (l.used AND log = 'loads') OR (b.used AND log = 'blocks') OR (p.used AND log = 'passes'))) AS gains_u2
FROM (VALUES (true), (false)) AS l(used), (VALUES (true), (false)) AS b(used), (VALUES (true), (false)) AS p(used)
