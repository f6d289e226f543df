using System.Text.Json;
using Supervisor.Daemon.Services;
using Supervisor.Daemon.Verbs;
using Supervisor.Machine.Api;
using Supervisor.Machine.Outputs;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>The JSON that programs read: members and types are fixed.</summary>
public sealed class StatusShapesTests
{
    [Fact]
    public void ToJson_Machine_HasTheFixedMembers()
    {
        var root = Json(Samples.Status(Samples.Axis("dibber")));

        Assert.Equal("Tray seeder", root.GetProperty("machine").GetString());
        Assert.Equal("production", root.GetProperty("mode").GetString());
        Assert.True(root.GetProperty("motionPermitted").GetBoolean());
        Assert.Equal(JsonValueKind.Null, root.GetProperty("authority").ValueKind);
        var axis = root.GetProperty("axes")[0];
        Assert.Equal("dibber", axis.GetProperty("name").GetString());
        Assert.Equal("Ready", axis.GetProperty("state").GetString());
        Assert.Equal("", axis.GetProperty("detail").GetString());
        Assert.True(axis.GetProperty("referenced").GetBoolean());
        Assert.Equal(1.5, axis.GetProperty("position").GetDouble());
        Assert.Equal(0, axis.GetProperty("velocity").GetDouble());
        Assert.Equal(2.1, axis.GetProperty("torque").GetDouble());
        Assert.Equal("mm", axis.GetProperty("unit").GetString());
        Assert.Equal(0, axis.GetProperty("inhibitedBy").GetArrayLength());
        Assert.Equal(JsonValueKind.Null, axis.GetProperty("fault").ValueKind);
        Assert.False(axis.GetProperty("stopLocked").GetBoolean());
        var interlock = root.GetProperty("interlocks")[0];
        Assert.Equal("front guard", interlock.GetProperty("name").GetString());
        Assert.False(interlock.GetProperty("open").GetBoolean());
        Assert.False(interlock.GetProperty("needsReset").GetBoolean());
        var port = root.GetProperty("ports")[0];
        Assert.Equal("line-a", port.GetProperty("name").GetString());
        Assert.Equal("open", port.GetProperty("state").GetString());
        Assert.Equal(40, port.GetProperty("cycleMs").GetDouble());
        Assert.Equal(12_345, port.GetProperty("exchanges").GetInt64());
        Assert.Equal(0, port.GetProperty("errors").GetInt64());
        Assert.Equal(12, port.GetProperty("heartbeatAgeMs").GetDouble());
        var overruns = port.GetProperty("overruns");
        Assert.Equal((7, 130), (overruns.GetProperty("skipped").GetInt64(), overruns.GetProperty("worstLateMs").GetDouble()));
        Assert.Equal((1, 44), (overruns.GetProperty("lastMinute").GetProperty("skipped").GetInt64(), overruns.GetProperty("lastMinute").GetProperty("worstLateMs").GetDouble()));
        Assert.Equal((3, 90), (overruns.GetProperty("lastHour").GetProperty("skipped").GetInt64(), overruns.GetProperty("lastHour").GetProperty("worstLateMs").GetDouble()));
    }

    [Fact]
    public void ToJson_Outputs_AreTheirConfirmedLevels()
    {
        var root = Json(Samples.Status(Samples.Axis("dibber")) with
        {
            Modules = [new ModuleStatus("terminal", false, false, "See that it answers.") { ErrorPercent = 2.345 }],
            Outputs = [new OutputStatus("gripper", "gpio:soc/5", true, true, ""), new OutputStatus("pump", "module:io/3", null, false, "dibber is stopped")],
            PowerEnable = new PowerStatus(PowerState.Faulted, FaultCode.ContactorWelded, ["dibber"], "Look."),
            Alive = new AliveStatus("gpio:soc/8", false, "port line-a is not open"),
        });

        Assert.Equal("""[{"name":"terminal","online":false,"outputsReady":false,"whatToDo":"See that it answers.","errorPercent":2.35}]""", root.GetProperty("modules").GetRawText());
        Assert.Equal(
            """[{"name":"gripper","output":"gpio:soc/5","on":true,"confirmed":true,"heldBecause":""},{"name":"pump","output":"module:io/3","on":null,"confirmed":false,"heldBecause":"dibber is stopped"}]""",
            root.GetProperty("outputs").GetRawText());
        Assert.Equal("""{"state":"faulted","fault":"CONTACTOR_WELDED","axes":["dibber"],"whatToDo":"Look."}""", root.GetProperty("powerEnable").GetRawText());
        Assert.Equal("""{"output":"gpio:soc/8","toggles":false,"problem":"port line-a is not open"}""", root.GetProperty("alive").GetRawText());
        Assert.Equal(JsonValueKind.Null, Json(Samples.Status()).GetProperty("powerEnable").ValueKind);
    }

    [Fact]
    public void ToJson_ValueNotKnown_IsNullAndNoError()
    {
        var axis = Json(Samples.Status(Samples.Axis("dibber") with { Position = double.NaN })).GetProperty("axes")[0];

        Assert.Equal(JsonValueKind.Null, axis.GetProperty("position").ValueKind);
    }

    [Fact]
    public void ToJson_HeatingAndTorque_AreNumbersWhereKnownAndNullElse()
    {
        var known = Json(Samples.Status(Samples.Axis("dibber") with { HeatPercent = 45.26, TorqueRmsPercent = 30.04 })).GetProperty("axes")[0];
        var unknown = Json(Samples.Status(Samples.Axis("dibber"))).GetProperty("axes")[0];

        Assert.Equal(45.3, known.GetProperty("heatPercent").GetDouble());
        Assert.Equal(30, known.GetProperty("torqueRmsPercent").GetDouble());
        Assert.Equal(JsonValueKind.Null, unknown.GetProperty("heatPercent").ValueKind);
        Assert.Equal(JsonValueKind.Null, unknown.GetProperty("torqueRmsPercent").ValueKind);
        Assert.Equal(JsonValueKind.Null, unknown.GetProperty("torqueLoad").ValueKind);
    }

    /// <summary>50 % for 3 s and 10 % for 1 s between two looks: √((3·2500 + 100) / 4) = 43.59 %, worked by hand.</summary>
    [Fact]
    public void ToJson_TorqueLoad_GivesTheRmsOfAClientsOwnCycle()
    {
        var before = new Supervisor.Motion.Heating.LoadSum().With(80, TimeSpan.FromSeconds(7));
        var after = before.With(-50, TimeSpan.FromSeconds(3)).With(10, TimeSpan.FromSeconds(1));
        var (from, to) = (Load(before), Load(after));

        Assert.Equal(43.59, Math.Sqrt((to.SquareSeconds - from.SquareSeconds) / (to.Seconds - from.Seconds)), 0.005);

        static (double SquareSeconds, double Seconds) Load(Supervisor.Motion.Heating.LoadSum sum)
        {
            var told = Json(Samples.Status(Samples.Axis("dibber") with { TorqueLoad = sum })).GetProperty("axes")[0].GetProperty("torqueLoad");
            return (told.GetProperty("squareSeconds").GetDouble(), told.GetProperty("seconds").GetDouble());
        }
    }

    [Fact]
    public void Line_HeatingAndTorque_AreToldWhereKnown()
    {
        string Line(Supervisor.Machine.Api.AxisStatus axis) => StatusText.Line(StatusMapping.ToMessage(Samples.Status(axis), SmallMachine.With("dibber")).Axes[0], 6);

        Assert.Contains("rms 30.1 %  heat 45.3 %", Line(Samples.Axis("dibber") with { HeatPercent = 45.26, TorqueRmsPercent = 30.06 }), StringComparison.Ordinal);
        Assert.DoesNotContain("rms", Line(Samples.Axis("dibber")), StringComparison.Ordinal);
        Assert.DoesNotContain("heat", Line(Samples.Axis("dibber")), StringComparison.Ordinal);
    }

    [Fact]
    public void ToJson_FaultByAHardwareStop_NamesIt()
    {
        var status = Samples.Status(Samples.Axis("dibber") with { Fault = Supervisor.Records.Faults.FaultCode.UnderVoltage, FaultConsequenceOf = "emergency stop" });
        var line = StatusText.Line(StatusMapping.ToMessage(status, SmallMachine.With("dibber")).Axes[0], 6);

        Assert.Equal("emergency stop", Json(status).GetProperty("axes")[0].GetProperty("faultConsequenceOf").GetString());
        Assert.Equal(JsonValueKind.Null, Json(Samples.Status(Samples.Axis("dibber"))).GetProperty("axes")[0].GetProperty("faultConsequenceOf").ValueKind);
        Assert.Contains("a consequence of emergency stop", line, StringComparison.Ordinal);
    }

    [Fact]
    public void ToJson_Speed_IsWhatIsLeftOfIt()
    {
        var slow = Samples.Status(Samples.Axis("dibber") with { SpeedPercent = 25 });
        var line = StatusText.Line(StatusMapping.ToMessage(slow, SmallMachine.With("dibber")).Axes[0], 6);

        Assert.Equal(25, Json(slow).GetProperty("axes")[0].GetProperty("speedPercent").GetDouble());
        Assert.Equal(100, Json(Samples.Status(Samples.Axis("dibber"))).GetProperty("axes")[0].GetProperty("speedPercent").GetDouble());
        Assert.Contains("25 %", line, StringComparison.Ordinal);
    }

    [Fact]
    public void ToJson_Zones_TellWhoHoldsThem()
    {
        var status = Samples.Status(Samples.Axis("dibber")) with
        {
            Zones = [new ZoneStatus("rail", true, [], ""), new ZoneStatus("soil", false, ["dibber"], "move dibber there first")],
        };
        var zones = Json(status).GetProperty("zones");
        var lines = StatusMapping.ToMessage(status, SmallMachine.With("dibber")).Zones.Select(StatusText.Line);

        Assert.True(zones[0].GetProperty("clear").GetBoolean());
        Assert.Equal("soil", zones[1].GetProperty("name").GetString());
        Assert.False(zones[1].GetProperty("clear").GetBoolean());
        Assert.Equal("dibber", zones[1].GetProperty("heldBy")[0].GetString());
        Assert.Equal("move dibber there first", zones[1].GetProperty("whatToDo").GetString());
        Assert.Equal(["zone rail: clear", "zone soil: held by dibber; move dibber there first"], lines);
        Assert.Equal(0, Json(Samples.Status(Samples.Axis("dibber"))).GetProperty("zones").GetArrayLength());
    }

    [Fact]
    public void Line_Interlock_SaysItsNameOnce()
    {
        var open = new Api.V1.InterlockStatus { Name = "front guard", Open = true, NeedsReset = true, OpenInputs = { "gantry.input1" }, WhatToDo = "The front guard is open (gantry.input1): close it." };

        Assert.Equal("The front guard is open (gantry.input1): close it.", StatusText.Line(open));
        Assert.Equal("vacuum: closed", StatusText.Line(new Api.V1.InterlockStatus { Name = "vacuum" }));
    }

    [Theory]
    [InlineData(true, "", 0, null)]
    [InlineData(true, "", 1, "history: 1 record could not be kept")]
    [InlineData(false, "x can't grow: the disk is full, free some space.", 0, "history: x can't grow: the disk is full, free some space.")]
    [InlineData(false, "x can't grow: the disk is full, free some space.", 7, "history: x can't grow: the disk is full, free some space. 7 records could not be kept")]
    public void Line_History_TellsWhatIsWrong(bool good, string problem, long lost, string? line) =>
        Assert.Equal(line, StatusText.Line(new Api.V1.HistoryStatus { Good = good, Problem = problem, Lost = lost }));

    [Fact]
    public void ToJson_Demo_HasTheFixedMembers()
    {
        var count = new DemoJson(3, 1, 1, 1, 1, 4321, 0, new PercentilesJson(8.1, 8.6), 41.2);

        var text = JsonSerializer.Serialize(count, JsonShapes.Readable.DemoJson);

        Assert.Equal(
            """{"cycles":3,"orderedStops":1,"faults":1,"recoveries":1,"refusals":1,"exchanges":4321,"exchangeErrors":0,"exchangeMs":{"p50":8.1,"p99":8.6},"durationS":41.2}""",
            text);
    }

    private static JsonElement Json(MachineStatus status)
    {
        var message = StatusMapping.ToMessage(status, SmallMachine.With("dibber"));
        return JsonDocument.Parse(JsonSerializer.Serialize(StatusShapes.ToJson(message), JsonShapes.Readable.StatusJson)).RootElement;
    }
}
