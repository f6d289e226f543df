using Supervisor.Configuration.Machines;

namespace Supervisor.Configuration.Tests;

/// <summary>The section <c>history</c> of a machine file.</summary>
public sealed class HistorySectionTests
{
    [Fact]
    public void Read_NoSection_HasDefaults() => Assert.Equal(RecordingsDefinition.Default, Machine("").History.Recordings);

    [Fact]
    public void Read_Section_IsKept() => Assert.Equal(
        new RecordingsDefinition(TimeSpan.FromSeconds(2.5), TimeSpan.FromSeconds(3), TimeSpan.FromSeconds(20), 5_500_000),
        Machine("""history = { "recordings": { "secondsBefore": 2.5, "secondsAfter": 3, "longestSeconds": 20, "keepMB": 5.5 } }""").History.Recordings);

    [Fact]
    public void Read_Bounds_AreKept()
    {
        var history = Machine("""history = { "writtenMBPerDay": 2.5, "recordsPerKind": 5000 }""").History;
        Assert.Equal((2_500_000L, 5_000), (history.BytesPerDay, history.RecordsPerKind));
        Assert.Equal((20_000_000L, 20_000), (Machine("").History.BytesPerDay, Machine("").History.RecordsPerKind));
    }

    [Theory]
    [InlineData("""{ "writtenMBPerDay": 0 }""", "history.writtenMBPerDay: 0 must be 1 to 100000 MB")]
    [InlineData("""{ "recordsPerKind": 99 }""", "history.recordsPerKind: 99 must be 100 to 1000000")]
    [InlineData("""{ "recordsPerKind": 100.5 }""", "history.recordsPerKind: 100.5 must be a whole number")]
    [InlineData("""{ "recordings": { "secondsBefore": 0.5 } }""", "history.recordings.secondsBefore: 0.5 must be 1 to 60 s")]
    [InlineData("""{ "recordings": { "secondsAfter": 61 } }""", "history.recordings.secondsAfter: 61 must be 1 to 60 s")]
    [InlineData("""{ "recordings": { "keepMB": 0 } }""", "history.recordings.keepMB: 0 must be 1 to 4000 MB")]
    [InlineData("""{ "recordings": { "longestSeconds": 14 } }""", "history.recordings.longestSeconds: must be at least secondsBefore and secondsAfter together, 15 s")]
    [InlineData("""{ "recordings": { "before": 14 } }""", "history.recordings.before: unknown member; known: \"secondsBefore\", \"secondsAfter\", \"longestSeconds\", \"keepMB\"")]
    [InlineData("""{ "recording": {} }""", "history.recording: unknown member; did you mean \"recordings\"?")]
    public void Read_Wrong_IsToldWhere(string section, string error) => Assert.Equal([error], Errors($"history = {section}"));

    [Fact]
    public void Read_LongestLeftOut_CoversBeforeAndAfter() => Assert.Equal(
        TimeSpan.FromSeconds(100), Machine("""history = { "recordings": { "secondsBefore": 50, "secondsAfter": 50 } }""").History.Recordings.Longest);

    /// <summary>64 axes at 10 ms: 65 s / 10 ms · 64 axes · 1.25 = 520,000 samples, 524,288 as a power of two, 64 bytes each.</summary>
    [Fact]
    public void Read_MoreMemoryThanABoardHasToSpare_IsRefused()
    {
        var axes = Enumerable.Range(1, 64).Select(i =>
            $$"""axes[{{i - 1}}] = { "name": "a{{i}}", "port": "line-a", "address": {{i}}, "definition": "reference.drive.json", "unit": "mm", "countsPerUnit": 1, "endless": { "period": 10000 }, "limits": { "velocity": 1, "acceleration": 1, "deceleration": 1 }, "reference": "none" }""");
        var edits = string.Join('\n', axes.Prepend("interlocks -").Prepend("ports[0].cycleMs = 10").Append("""history = { "recordings": { "secondsBefore": 60 } }"""));

        Assert.Contains(
            "history.recordings.secondsBefore: of 60 s takes 34 MB of memory for the samples of 64 axes at these cycles; at most 16 MB are allowed: keep fewer seconds, or choose longer cycles",
            Errors(edits));
    }

    private static MachineDefinition Machine(string edits)
    {
        using var folder = new TestFolder();
        var result = Read(folder, edits);
        Assert.Empty(result.Errors);
        return result.Value!;
    }

    private static IEnumerable<string> Errors(string edits)
    {
        using var folder = new TestFolder();
        return [.. Read(folder, edits).Errors.Select(error => $"{error.Path}: {error.Message}")];
    }

    private static FileResult<MachineDefinition> Read(TestFolder folder, string edits)
    {
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        return MachineFile.Read(folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), edits)));
    }
}
