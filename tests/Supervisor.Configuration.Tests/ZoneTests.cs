using System.Text.RegularExpressions;
using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>Zones of a machine file: each shape arrives, each wrong thing gives exactly its error, all of them in one pass.</summary>
public sealed partial class ZoneTests
{
    private const string Above = """{ "name": "above", "axis": "gantry", "movesOnlyWhile": { "axis": "dibber", "between": [0, 20] } }""";

    [Fact]
    public void Read_MovesOnlyWhile_IsResolved()
    {
        var zones = Machine($"[ {Above}, {Above.Replace("above", "here", StringComparison.Ordinal).Replace("\"gantry\",", "\"gantry\", \"between\": [30, 400],", StringComparison.Ordinal)} ]").Zones;

        Assert.Equal(new MovesOnlyWhileZone("above", 2, null, 0, new ZoneRange(0, 20)), zones[0]);
        Assert.Equal(new MovesOnlyWhileZone("here", 2, new ZoneRange(30, 400), 0, new ZoneRange(0, 20)), zones[1]);
    }

    [Fact]
    public void Read_PairWithDistance_IsResolvedToTheFirstAxisScale()
    {
        var zone = Assert.IsType<DistanceZone>(Assert.Single(Machine(
            """[ { "name": "way", "pair": ["gantry", "dibber"], "distance": 40, "offset": 900, "inverted": true } ]""").Zones));

        Assert.Equal(new DistanceZone("way", 2, 0, 40, 900, -1), zone);
        Assert.Equal(750, zone.SecondAt(150));
        Assert.Equal(150, zone.SecondPosition(750));
    }

    [Fact]
    public void Read_PairWithRanges_IsResolved() => Assert.Equal(
        [new NeverBothZone("hopper", 2, new ZoneRange(300, 400), 0, new ZoneRange(50, 180))],
        Machine("""[ { "name": "hopper", "pair": [ { "axis": "gantry", "between": [300, 400] }, { "axis": "dibber", "between": [50, 180] } ] } ]""").Zones);

    [Fact]
    public void Read_NoZones_MeansNone() => Assert.Empty(Machine("[]").Zones);

    [Theory]
    [InlineData("""{ "axis": "gantry", "movesOnlyWhile": { "axis": "dibber", "between": [0, 20] } }""", "zones[0].name: is missing: name of the zone")]
    [InlineData("""{ "name": "z" }""", "zones[0]: says what it keeps apart: either an axis with movesOnlyWhile, or a pair of axes with a distance or with a range each")]
    [InlineData("""{ "name": "z", "axis": "gantry" }""", "zones[0].movesOnlyWhile: is missing: which other axis must be where while this one moves")]
    [InlineData("""{ "name": "z", "axis": "gantri", "movesOnlyWhile": { "axis": "dibber", "between": [0, 20] } }""", "zones[0].axis: no axis \"gantri\"; did you mean \"gantry\"?")]
    [InlineData("""{ "name": "z", "axis": "dibber", "movesOnlyWhile": { "axis": "dibber", "between": [0, 20] } }""", "zones[0].movesOnlyWhile.axis: a zone is about two axes; name another one")]
    [InlineData("""{ "name": "z", "axis": "gantry", "movesOnlyWhile": { "axis": "dibber", "between": [20, 0] } }""", "zones[0].movesOnlyWhile.between: lower position 20 is not below upper position 0 (mm)")]
    [InlineData("""{ "name": "z", "axis": "gantry", "movesOnlyWhile": { "axis": "dibber", "between": [-1, 20] } }""", "zones[0].movesOnlyWhile.between: -1 to 20 mm reaches beyond its limits of 0 to 180 mm")]
    [InlineData("""{ "name": "z", "axis": "gantry", "movesOnlyWhile": { "axis": "dibber", "between": [0, 180] } }""", "zones[0].movesOnlyWhile.between: is all that its limits permit: the zone would forbid nothing; narrow it")]
    [InlineData("""{ "name": "z", "axis": "gantry", "movesOnlyWhile": { "axis": "drum", "between": [0, 20] } }""", "zones[0].movesOnlyWhile.between: \"drum\" has \"reference\": \"none\": where it is is never proven; give it a homing or an absolute encoder")]
    [InlineData("""{ "name": "z", "axis": "gantry", "distance": 4, "movesOnlyWhile": { "axis": "dibber", "between": [0, 20] } }""", "zones[0].distance: is for a pair; take it out")]
    [InlineData("""{ "name": "z", "pair": ["gantry", "dibber"], "distance": 40 }""", "zones[0].offset: is missing: where the zero of the second axis lies on the scale of the first; 0 where both count from one zero")]
    [InlineData("""{ "name": "z", "pair": ["gantry", "dibber"], "offset": 40 }""", "zones[0].distance: is missing: the least distance between the two, mm")]
    [InlineData("""{ "name": "z", "pair": ["gantry", "dibber"], "distance": 0, "offset": 900 }""", "zones[0].distance: 0 must be above 0 mm")]
    [InlineData("""{ "name": "z", "pair": ["gantry"], "distance": 40, "offset": 900 }""", "zones[0].pair: two axes are expected, found 1")]
    [InlineData("""{ "name": "z", "pair": ["gantry", "gantry"], "distance": 40, "offset": 900 }""", "zones[0].pair[1]: a zone is about two axes; name another one|zones[0].offset: the second axis lies at 900 to 1720 mm on the scale of the first, which it never comes near; look at offset and inverted")]
    [InlineData("""{ "name": "z", "pair": ["dibber", "gantry"], "distance": 40, "offset": -900 }""", "zones[0].offset: the second axis lies at -900 to -80 mm on the scale of the first, which is never 40 mm above it; name the pair the other way round, or look at offset and inverted")]
    [InlineData("""{ "name": "z", "pair": ["gantry", "drum"], "distance": 40, "offset": 0, "scale": 1 }""", "zones[0].pair[1]: \"drum\" has \"reference\": \"none\": where it is is never proven; give it a homing or an absolute encoder|zones[0].pair[1]: \"drum\" is endless: it comes round again, so there is no distance to it; give a range of each axis instead")]
    [InlineData("""{ "name": "z", "pair": ["gantry", { "axis": "dibber", "between": [0, 5] }], "distance": 40, "offset": 900 }""", "zones[0].pair[1]: a pair with a distance names its axes only, without ranges; take the distance out, or name the axis as a text")]
    [InlineData("""{ "name": "z", "pair": [{ "axis": "gantry", "between": [0, 5] }, { "axis": "dibber", "between": [0, 5] }], "offset": 900 }""", "zones[0].offset: is for a pair with a distance; take it out, or give a distance")]
    [InlineData("""{ "name": "z", "axis": "gantry", "pair": [], "movesOnlyWhile": { "axis": "dibber", "between": [0, 20] } }""", "zones[0]: says what it keeps apart: either an axis with movesOnlyWhile, or a pair of axes with a distance or with a range each")]
    public void Read_WrongZone_IsTold(string zone, string expected) => Assert.Equal(expected.Split('|'), Errors($"[ {zone} ]"));

    [Fact]
    public void Read_NameTwice_IsTold() => Assert.StartsWith("zones[1].name: zone \"above\" appears twice; first in line ", Assert.Single(Errors($"[ {Above}, {Above} ]")));

    [Fact]
    public void Read_EndlessAxisOfRanges_LiesWithinATurn()
    {
        const string Zone = """[ { "name": "z", "pair": [ { "axis": "drum", "between": [BETWEEN] }, { "axis": "dibber", "between": [50, 180] } ] } ]""";
        const string Referenced = "\naxes[3].reference = \"absolute\"";

        Assert.IsType<NeverBothZone>(Read(Zone.Replace("BETWEEN", "-10, 10", StringComparison.Ordinal), Referenced).Value!.Zones[0]);
        Assert.Equal(["zones[0].pair[0].between: 300 to 400 deg lies outside of one turn; give it within -360 to 360 deg"],
            Errors(Zone.Replace("BETWEEN", "300, 400", StringComparison.Ordinal), Referenced));
        Assert.Equal(["zones[0].pair[0].between: -180 to 180 deg is a whole turn of 360 deg; narrow it"],
            Errors(Zone.Replace("BETWEEN", "-180, 180", StringComparison.Ordinal), Referenced));
    }

    [Fact]
    public void Read_UnitsThatDiffer_NeedAScale() => Assert.Equal(
        ["zones[0].scale: is missing: how many cm of the first axis one mm of the second is"],
        Errors("""[ { "name": "z", "pair": ["gantry", "dibber"], "distance": 4, "offset": 90, "inverted": true } ]""", "\naxes[2].unit = \"cm\""));

    [Fact]
    public void Read_AxesThatAreHomedTogether_AreTold() => Assert.Equal(
        ["zones[0]: \"gantry\" and \"dibber\" are both homed with order 1, so at the same time, which this zone never permits: give one of them a later order"],
        Errors($"[ {Above} ]", "\naxes[2].homing.order = 1"));

    [Fact]
    public void Read_ConditionsThatNeverHoldTogether_AreTold()
    {
        var below = Above.Replace("above", "below", StringComparison.Ordinal).Replace("[0, 20]", "[30, 50]", StringComparison.Ordinal);
        Assert.Equal(
            ["zones[1]: \"gantry\" could never move: zone \"above\" asks for \"dibber\" elsewhere; make the two ranges overlap"],
            Errors($"[ {Above}, {below} ]"));
        Assert.Empty(Errors($"[ {Above}, {below.Replace("[30, 50]", "[10, 50]", StringComparison.Ordinal)} ]"));
        var here = Above.Replace("\"gantry\",", "\"gantry\", \"between\": [0, 100],", StringComparison.Ordinal);
        var there = below.Replace("\"gantry\",", "\"gantry\", \"between\": [100, 200],", StringComparison.Ordinal);
        Assert.Empty(Errors($"[ {here}, {there} ]"));
    }

    [Fact]
    public void Read_SeveralWrongZones_AreAllToldInOnePass() => Assert.Equal(
        3, Errors("""[ { "name": "a", "axis": "gantri", "movesOnlyWhile": { "axis": "dibber", "between": [5, 0] } }, { "name": "b", "pair": ["gantry"] } ]""").Length);

    private static MachineDefinition Machine(string zones)
    {
        var result = Read(zones, "");
        Assert.Empty(result.Errors);
        return result.Value!;
    }

    private static string[] Errors(string zones, string edits = "") => [.. Read(zones, edits).Errors.Select(error => Place().Replace(error.ToString(), ""))];

    private static FileResult<MachineDefinition> Read(string zones, string edits)
    {
        using var folder = new TestFolder();
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), $"zones = {zones}{edits}")));
    }

    [GeneratedRegex(@"^[^:]*:\d+:\d+: ")]
    private static partial Regex Place();
}
