using Supervisor.Configuration.Parameters;

namespace Supervisor.Configuration.Tests;

/// <summary>A saved set comes back as it was, tells when it was changed, and is never half there.</summary>
public sealed class ParameterFileTests
{
    private static readonly DriveParameterSet Set = new(
        "dibber", "Reference drive", new Dictionary<string, double> { ["serialNumber"] = 4294967295, ["firmwareVersion"] = 258 },
        new DateTimeOffset(2026, 1, 31, 12, 0, 0, 123, TimeSpan.FromHours(2)),
        [new SavedParameter("positionGain", 12.3, "1/s"), new SavedParameter("filter", -5, null)]);

    [Fact]
    public void Write_ThenRead_GivesTheSameSet()
    {
        using var folder = new TestFolder();
        var path = folder.At("a.drive-parameters.json");
        DriveParametersFile.Write(path, Set, overwrite: false);
        var read = DriveParametersFile.Read(path);

        Assert.Empty(read.Errors);
        Assert.True(read.Value!.IsAsSaved);
        Assert.Equal(Set.Parameters, read.Value.Set.Parameters);
        Assert.Equal(Set.Identity, read.Value.Set.Identity);
        Assert.Equal((Set.Axis, Set.Definition, Set.SavedAt), (read.Value.Set.Axis, read.Value.Set.Definition, read.Value.Set.SavedAt));
        Assert.Equal([path], Directory.GetFiles(Path.GetDirectoryName(path)!));
    }

    [Theory]
    [InlineData("12.3", "12.4")]
    [InlineData("-5", "5")]
    [InlineData("dibber", "dobber")]
    [InlineData("4294967295", "1")]
    [InlineData("\"1/s\"", "\"1/m\"")]
    [InlineData("2026", "2027")]
    public void Read_FileThatWasChanged_IsNotAsSaved(string from, string to)
    {
        using var folder = new TestFolder();
        var path = folder.At("a.drive-parameters.json");
        DriveParametersFile.Write(path, Set, overwrite: false);
        File.WriteAllText(path, File.ReadAllText(path).Replace(from, to, StringComparison.Ordinal));

        var read = DriveParametersFile.Read(path);
        Assert.Empty(read.Errors);
        Assert.False(read.Value!.IsAsSaved);
    }

    [Fact]
    public void Write_OverAFileThatIsThere_NeedsToBeMeant()
    {
        using var folder = new TestFolder();
        var path = folder.Write("a.drive-parameters.json", "the only good set");

        Assert.Throws<IOException>(() => DriveParametersFile.Write(path, Set, overwrite: false));
        Assert.Equal("the only good set", File.ReadAllText(path));
        DriveParametersFile.Write(path, Set, overwrite: true);
        Assert.True(DriveParametersFile.Read(path).IsGood);
    }

    [Fact]
    public void Read_FileWithErrors_TellsThemAll()
    {
        using var folder = new TestFolder();
        var errors = DriveParametersFile.Read(folder.Write(
            "a.drive-parameters.json",
            """{ "axis": "x", "identity": { "serial": 1 }, "savedAt": "once", "parameters": [ { "name": "a", "value": "1" }, { "name": "a", "value": 1 } ], "sha256": "0" }""")).Errors;

        Assert.Equal(
            ["definition", "identity.serial", "savedAt", "parameters[0].value", "parameters[1].name"],
            errors.Select(error => error.Path));
    }
}
