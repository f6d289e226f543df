using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;
using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Tests;

/// <summary>Steps of routines that raise and clear alarms, count, and tell that they fail or take too long.</summary>
public sealed class RoutineAlarmTests
{
    private static readonly MachineDefinition Machine = Samples.Machine(Samples.Example("machine.json")) with
    {
        Counters = [new CounterDefinition("rows", null), new CounterDefinition("trays", null)],
        Alarms =
        [
            new OwnAlarmDefinition(1000, FaultPriority.Low, [new OwnAlarmTexts("no tray", "c", "r")]),
            new OwnAlarmDefinition(1001, FaultPriority.Low, [new OwnAlarmTexts("cleaning due", "c", "r")]) { Counter = new AlarmCounter(1, 5) },
        ],
    };

    [Fact]
    public void Read_Steps_AreWhatTheFileSays()
    {
        var (errors, steps) = Read("""
            { "name": "a", "raiseAlarm": 1000 }, { "name": "b", "clearAlarm": 1000 }, { "name": "c", "count": { "counter": "trays" } },
            { "name": "d", "count": { "counter": "rows", "by": 3 }, "failureAlarm": 1000 }, { "name": "e", "waitMs": 10, "tooLong": { "afterMs": 500, "alarm": 1000 } }
            """);

        Assert.Empty(errors);
        Assert.Equal(
            [
                new RaiseAlarmStep("a", 1000), new ClearAlarmStep("b", 1000), new CountStep("c", 1, 1), new CountStep("d", 0, 3) { FailureAlarm = 1000 },
                new WaitStep("e", TimeSpan.FromMilliseconds(10)) { TooLong = new TooLong(TimeSpan.FromMilliseconds(500), 1000) },
            ],
            steps);
    }

    [Theory]
    [InlineData("\"raiseAlarm\": 1002", "steps[0].raiseAlarm: the machine file has no alarm 1002; for steps it has 1000")]
    [InlineData("\"raiseAlarm\": 999", "steps[0].raiseAlarm: 999 must be 1000 to 9999")]
    [InlineData("\"clearAlarm\": \"1000\"", "steps[0].clearAlarm: a number is expected, found the text \"1000\"")]
    [InlineData("\"clearAlarm\": 1001", "steps[0].clearAlarm: alarm 1001 (\"cleaning due\") is raised and cleared by its counter alone; give the step one of its own")]
    [InlineData("\"raiseAlarm\": 1000, \"waitMs\": 5", "steps[0]: exactly one of \"move\", \"contact\", \"waitMs\", \"waitInput\", \"setOutput\", \"raiseAlarm\", \"clearAlarm\", \"count\", \"repeat\" is expected, found \"waitMs\", \"raiseAlarm\"")]
    [InlineData("\"count\": {}", "steps[0].count.counter: is missing: name of a counter of the machine file")]
    [InlineData("\"count\": { \"counter\": \"tray\" }", "steps[0].count.counter: no counter \"tray\"; did you mean \"trays\"?")]
    [InlineData("\"count\": { \"counter\": \"trays\", \"by\": 0 }", "steps[0].count.by: 0 must be 1 to 1000000")]
    [InlineData("\"waitMs\": 5, \"failureAlarm\": 1002", "steps[0].failureAlarm: the machine file has no alarm 1002; for steps it has 1000")]
    [InlineData("\"waitMs\": 5, \"tooLong\": { \"alarm\": 1000 }", "steps[0].tooLong.afterMs: is missing: the time from which the step takes too long")]
    [InlineData("\"waitMs\": 5, \"tooLong\": { \"afterMs\": 0, \"alarm\": 1000 }", "steps[0].tooLong.afterMs: 0 must be above 0 and at most 86400000 ms")]
    [InlineData("\"waitMs\": 5, \"tooLong\": { \"afterMs\": 1 }", "steps[0].tooLong.alarm: is missing: number of the alarm that tells it")]
    public void Read_OneThingWrong_IsToldWhere(string members, string expected) => Assert.Equal([expected], Read($$"""{ "name": "a", {{members}} }""").Errors);

    private static (List<string> Errors, IReadOnlyList<RoutineStep> Steps) Read(string steps)
    {
        using var folder = new TestFolder();
        var result = RoutineFile.Read(folder.Write("r.routine.json", $$"""{ "name": "r", "steps": [ {{steps}} ] }"""), Machine);
        return ([.. result.Errors.Select(error => $"{error.Path}: {error.Message}")], result.Value?.Steps ?? []);
    }
}
