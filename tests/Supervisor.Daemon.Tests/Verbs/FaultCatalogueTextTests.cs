using System.Text.Json;
using Supervisor.Daemon.Verbs;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Verbs;

public sealed class FaultCatalogueTextTests
{
    private static readonly FaultEntry[] Faults = [.. FaultCatalogue.Entries.Where(entry => entry.Code != FaultCode.None)];

    [Fact]
    public void Print_EveryLine_FitsAndHasNoColumnRunningIntoTheNext()
    {
        var lines = Lines();

        Assert.All(lines, line => Assert.True(line.Length <= FaultCatalogueText.Width && line == line.TrimEnd(), line));
        foreach (var entry in Faults)
        {
            var row = Assert.Single(lines, line => line.StartsWith($"{(ushort)entry.Code} ", StringComparison.Ordinal));
            Assert.Contains($" {entry.Name}  ", row, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void Print_EveryFault_TellsAllItsWords()
    {
        var text = string.Join(' ', string.Join(' ', Lines()).Split(' ', StringSplitOptions.RemoveEmptyEntries));

        Assert.All(Faults, entry => Assert.All([entry.Meaning, entry.Consequence, .. entry.Causes, entry.Remedy], words => Assert.Contains(words, text, StringComparison.Ordinal)));
    }

    [Fact]
    public void ToJson_EveryFault_HasEveryMember()
    {
        var faults = JsonDocument.Parse(JsonSerializer.Serialize(FaultCatalogueText.ToJson(), JsonShapes.Readable.CatalogueJson)).RootElement.GetProperty("faults");

        Assert.Equal(Faults.Select(entry => (int)entry.Code), faults.EnumerateArray().Select(fault => fault.GetProperty("number").GetInt32()));
        var slip = faults.EnumerateArray().Single(fault => fault.GetProperty("fault").GetString() == "BRAKE_SLIP");
        Assert.Equal("brake slip", slip.GetProperty("name").GetString());
        Assert.Equal("grave", slip.GetProperty("class").GetString());
        Assert.Equal("high", slip.GetProperty("priority").GetString());
        Assert.Equal("now", slip.GetProperty("urgency").GetString());
        Assert.Equal("quickStopThenOff", slip.GetProperty("axisStop").GetString());
        Assert.Equal("stopAndHold", slip.GetProperty("groupStop").GetString());
        Assert.False(slip.GetProperty("mayRecover").GetBoolean());
        Assert.InRange(slip.GetProperty("causes").GetArrayLength(), 2, 4);
        Assert.All(["consequence", "meaning", "remedy"], member => Assert.NotEqual("", slip.GetProperty(member).GetString()));
    }

    private static string[] Lines()
    {
        using var writer = new StringWriter();
        FaultCatalogueText.Print(writer);
        return writer.ToString().TrimEnd().Split(Environment.NewLine);
    }
}
