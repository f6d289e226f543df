using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Tests;

/// <summary>The builder's own alarms and counters of a machine file: good ones, then each with one thing wrong that gives exactly that error.</summary>
public sealed class OwnAlarmTests
{
    private const string Good =
        """
        languages = ["en", "de", "pt-BR"]
        counters = [ { "name": "trays", "input": { "input": "gantry.input2", "counts": "openings", "settleMs": 20 } }, { "name": "rows" } ]
        alarms = []
        alarms[0] = { "number": 1000, "name": "hopper low", "priority": "medium", "cause": "c", "remedy": "r", "input": { "input": "file:hopper", "raisedWhile": "open", "onDelayMs": 500, "offDelayMs": 700, "whenSilent": "raise" } }
        alarms[0].texts = { "de": { "name": "Trichter", "cause": "u", "remedy": "a" }, "PT-br": { "name": "funil", "cause": "c", "remedy": "f" } }
        alarms[1] = { "number": 9999, "name": "cleaning due", "priority": "low", "cause": "c", "remedy": "r", "latched": true, "counter": { "name": "trays", "atLeast": 500 } }
        alarms[1].texts = { "de": { "name": "Reinigen", "cause": "u", "remedy": "a" }, "pt-BR": { "name": "limpar", "cause": "c", "remedy": "f" } }
        """;

    [Fact]
    public void Read_Alarms_AreWhatTheFileSays()
    {
        var (errors, machine) = Read("");

        Assert.Empty(errors);
        var (low, due) = (machine!.Alarms[0], machine.Alarms[1]);
        Assert.Equal((1000, "hopper low", FaultPriority.Medium, false), (low.Number, low.Name, low.Priority, low.Latched));
        Assert.Equal(["hopper low", "Trichter", "funil"], low.Texts.Select(text => text.Name));
        Assert.Equal("funil", low.Texts[machine.Languages.Find("pt-BR")].Name);
        Assert.Equal((InputSource.File, false, 500, 700, SilentInput.Raise), (low.Input!.Input.Source, low.Input.RaisedWhileClosed, low.Input.OnDelay.TotalMilliseconds, low.Input.OffDelay.TotalMilliseconds, low.Input.WhenSilent));
        Assert.Equal((9999, FaultPriority.Low, true, new AlarmCounter(0, 500)), (due.Number, due.Priority, due.Latched, due.Counter));
        Assert.Equal(("trays", false, 20), (machine.Counters[0].Name, machine.Counters[0].Input!.Closings, machine.Counters[0].Input!.Settle.TotalMilliseconds));
        Assert.Equal(new CounterDefinition("rows", null), machine.Counters[1]);
        Assert.Equal(["file:hopper", "gantry.input2"], machine.AllInputs().Select(input => input.Text).TakeLast(2));
    }

    /// <summary>Five cycles of 40 ms; a file is on no line.</summary>
    [Fact]
    public void Read_StaleLeftOut_IsAsForInterlocks()
    {
        var machine = Read("").Machine!;
        Assert.Equal((100, 200), (machine.Alarms[0].Input!.StaleAfter.TotalMilliseconds, machine.Counters[0].Input!.StaleAfter.TotalMilliseconds));
    }

    [Fact]
    public void Read_NoLanguages_PlainTextsOnly()
    {
        var (errors, machine) = Read("languages -\nalarms[0].texts -\nalarms[1].texts -");

        Assert.Empty(errors);
        Assert.Equal("hopper low", machine!.Alarms[0].Texts[machine.Languages.Find("de")].Name);
    }

    [Theory]
    [InlineData("alarms = {}", "alarms: an array is expected, found an object")]
    [InlineData("alarms[0].number -", "alarms[0].number: is missing: its number, 1000 to 9999")]
    [InlineData("alarms[0].number = 999", "alarms[0].number: 999 must be 1000 to 9999")]
    [InlineData("alarms[0].number = 10000", "alarms[0].number: 10000 must be 1000 to 9999")]
    [InlineData("alarms[0].number = 1000.5", "alarms[0].number: 1000.5 must be a whole number")]
    [InlineData("alarms[1].number = 1000", "alarms[1].number: alarm 1000 appears twice; first in line 1")]
    [InlineData("alarms[1].name = \"hopper low\"", "alarms[1].name: alarm \"hopper low\" appears twice; first in line 1")]
    [InlineData("alarms[0].name = \"\"", "alarms[0].name: must not be empty")]
    [InlineData("alarms[0].priority -", "alarms[0].priority: is missing: \"low\", \"medium\" or \"high\": high is for what may hurt someone or drop a load")]
    [InlineData("alarms[0].priority = \"urgent\"", "alarms[0].priority: \"urgent\" is none of \"low\", \"medium\", \"high\"")]
    [InlineData("alarms[0].cause -", "alarms[0].cause: is missing: what it comes from")]
    [InlineData("alarms[0].remedy -", "alarms[0].remedy: is missing: what to do")]
    [InlineData("alarms[0].stopsAxes = true", "alarms[0].stopsAxes: unknown member; known: \"number\", \"name\", \"priority\", \"cause\", \"remedy\", \"texts\", \"latched\", \"input\", \"counter\"")]
    [InlineData("alarms[0].texts.de -", "alarms[0].texts.de: is missing: the file's languages are \"en\", \"de\", \"pt-BR\"")]
    [InlineData("alarms[0].texts.de.remedy -", "alarms[0].texts.de.remedy: is missing: what to do")]
    [InlineData("alarms[0].texts.fr = { \"name\": \"t\", \"cause\": \"c\", \"remedy\": \"r\" }", "alarms[0].texts.fr: \"fr\" is none of the file's languages \"en\", \"de\", \"pt-BR\"")]
    [InlineData("alarms[0].texts.dk = { \"name\": \"t\", \"cause\": \"c\", \"remedy\": \"r\" }", "alarms[0].texts.dk: \"dk\" begins with the code of no language (ISO 639-1); countries have others, Danish is \"da\", Japanese \"ja\"")]
    [InlineData("alarms[0].texts.de_DE = { \"name\": \"t\", \"cause\": \"c\", \"remedy\": \"r\" }", "alarms[0].texts.de_DE: \"de_DE\" is no language tag (BCP 47); such as \"en\", \"de\" or \"pt-BR\" is expected")]
    [InlineData("alarms[0].texts.en = { \"name\": \"t\", \"cause\": \"c\", \"remedy\": \"r\" }", "alarms[0].texts.en: \"en\" is the language of the plain members; take it out here")]
    [InlineData("alarms[0].texts.DE = { \"name\": \"t\", \"cause\": \"c\", \"remedy\": \"r\" }", "alarms[0].texts.DE: \"DE\" appears twice; first in line 1")]
    [InlineData("languages = [\"en\", \"de\", \"pt-BR\", \"DE\"]", "languages[3]: \"DE\" is listed twice; first in line 1")]
    [InlineData("languages = [\"en\", \"de\", \"pt-BR\", \"jp\"]", "languages[3]: \"jp\" begins with the code of no language (ISO 639-1); countries have others, Danish is \"da\", Japanese \"ja\"")]
    [InlineData("languages = [\"en\", \"de\", \"pt-BR\", \"e\"]", "languages[3]: \"e\" is no language tag (BCP 47); such as \"en\", \"de\" or \"pt-BR\" is expected")]
    [InlineData("alarms[0].counter = { \"name\": \"trays\", \"atLeast\": 1 }", "alarms[0].counter: an alarm is raised by an input or by a counter; make two of it")]
    [InlineData("alarms[0].input.input -", "alarms[0].input.input: is missing: the input that raises it: AXIS.NAME, file:PATH, gpio:CHIP-LABEL/LINE or module:NAME/BIT")]
    [InlineData("alarms[0].input.input = \"gantry.input9\"", "alarms[0].input.input: \"gantry.input9\": drive \"Reference drive\" has no input \"input9\"; did you mean \"input1\"?")]
    [InlineData("alarms[0].input.input = \"module:io/3\"", "alarms[0].input.input: \"module:io/3\": no module \"io\"; the file has none")]
    [InlineData("alarms[0].input.raisedWhile -", "alarms[0].input.raisedWhile: is missing: \"open\" or \"closed\": the level that raises it")]
    [InlineData("alarms[0].input.whenSilent -", "alarms[0].input.whenSilent: is missing: \"keep\", \"raise\" or \"clear\": what it means when the input's source does not answer")]
    [InlineData("alarms[0].input.onDelayMs = -1", "alarms[0].input.onDelayMs: -1 must be 0 to 3600000 ms")]
    [InlineData("alarms[0].input.offDelayMs = 3600001", "alarms[0].input.offDelayMs: 3600001 must be 0 to 3600000 ms")]
    [InlineData("counters[0].input.staleMs = 79", "counters[0].input.staleMs: 79 ms is too short: the inputs are read every 40 ms; at least 2 cycles, 80 ms")]
    [InlineData("alarms[1].counter.name = \"tray\"", "alarms[1].counter.name: no counter \"tray\"; did you mean \"trays\"?")]
    [InlineData("alarms[1].counter.atLeast = 0", "alarms[1].counter.atLeast: 0 must be 1 to 1000000000")]
    [InlineData("alarms[1].counter.atLeast = 1.5", "alarms[1].counter.atLeast: 1.5 must be a whole number")]
    [InlineData("counters[1].name = \"trays\"", "counters[1].name: counter \"trays\" appears twice; first in line 1")]
    [InlineData("counters[0].input.counts = \"closing\"", "counters[0].input.counts: \"closing\" is none of \"closings\", \"openings\"; did you mean \"closings\"?")]
    [InlineData("counters[0].input.settleMs = \"20\"", "counters[0].input.settleMs: a number is expected, found the text \"20\"")]
    public void Read_OneThingWrong_IsToldWhere(string edit, string expected) => Assert.Equal([expected], Read(edit).Errors);

    [Fact]
    public void Read_SeveralWrong_AllToldInOnePass()
    {
        var (errors, machine) = Read("alarms[0].number = 10\nalarms[0].texts.de -\nalarms[1].counter.name = \"nothing\"\ncounters[0].input.counts -");

        Assert.Null(machine);
        Assert.Equal(4, errors.Count);
    }

    [Fact]
    public void Read_TextsWithoutLanguages_AreTold() => Assert.Contains(
        "alarms[0].texts.de: the file names no languages; give \"languages\", the first that of the plain members", Read("languages -").Errors);

    private static (List<string> Errors, MachineDefinition? Machine) Read(string edits)
    {
        using var folder = new TestFolder();
        File.Copy(Samples.Example("reference.drive.json"), folder.At("reference.drive.json"));
        var json = EditedJson.Parse(Samples.Example("machine.json"));
        EditedJson.Apply(json, Good);
        EditedJson.Apply(json, edits);
        var result = MachineFile.Read(folder.Write("machine.json", json.ToJsonString()));
        return ([.. result.Errors.Select(error => $"{error.Path}: {error.Message}")], result.Value);
    }
}
