using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Routines;

namespace Supervisor.Configuration.Tests;

/// <summary>Every check of a routine: the example with one thing wrong gives exactly that one error.</summary>
public sealed class RoutineCheckTests
{
    [Theory]
    [InlineData("name = \"\"", "name: must not be empty")]
    [InlineData("steps = []", "steps: is empty; a routine has at least one step")]
    [InlineData("steps = 3", "steps: an array is expected, found the number 3")]
    [InlineData("parameters.depth.default = 61", "parameters.depth.default: 61 is outside minimum 5 to maximum 60 (mm)")]
    [InlineData("parameters.depth.minimum = 61", "parameters.depth.minimum: 61 is above maximum 60 (mm)")]
    [InlineData("parameters.depth.maximum -", "parameters.depth.maximum: is missing: the greatest value")]
    [InlineData("parameters.depth.maximum = 181", "steps[3].contact.toward: $depth (5 to 181) mm is outside the limits of dibber, 0 to 180 mm")]
    [InlineData("parameters.depth.minimum = -1", "steps[3].contact.toward: $depth (-1 to 60) mm is outside the limits of dibber, 0 to 180 mm")]
    [InlineData("parameters.depth = 3", "parameters.depth: an object is expected, found the number 3")]
    [InlineData("steps[0].name -\nsteps[5] -", "steps[0].name: is missing: name of the step")]
    [InlineData("steps[4].name = \"dib\"\nsteps[5] -", "steps[4].name: step \"dib\" appears twice; first in line 1")]
    [InlineData("steps[0].move = { \"dibber\": 181 }", "steps[0].move.dibber: 181 mm is outside the limits of dibber, 0 to 180 mm")]
    [InlineData("steps[0].move = { \"dibber\": -0.1 }", "steps[0].move.dibber: -0.1 mm is outside the limits of dibber, 0 to 180 mm")]
    [InlineData("steps[0].move = { \"dibber\": { \"by\": -181 } }", "steps[0].move.dibber.by: -181 mm is farther than dibber can go, 180 mm from limit to limit")]
    [InlineData("steps[0].move = { \"diber\": 0 }", "steps[0].move.diber: no axis \"diber\"; did you mean \"dibber\"?")]
    [InlineData("steps[0].move = { \"dibber\": \"$dept\" }", "steps[0].move.dibber: no parameter \"dept\"; did you mean \"depth\"?")]
    [InlineData("steps[0].move = { \"dibber\": \"depth\" }", "steps[0].move.dibber: a number or \"$parameter\" is expected, found the text \"depth\"")]
    [InlineData("steps[0].move = { \"dibber\": true }", "steps[0].move.dibber: a number, \"$parameter\" or { \"by\": … } is expected, found true")]
    [InlineData("steps[0].move = { \"dibber\": { \"By\": 3 } }", "steps[0].move.dibber.By: unknown member; did you mean \"by\"?")]
    [InlineData("steps[0].move = {}", "steps[0].move: is empty; name at least one axis and its target")]
    [InlineData("steps[0].move = { \"drum\": 361 }", "steps[0].move.drum: 361 deg is more than a turn of drum, 360 deg; to go farther say { \"by\": … }")]
    [InlineData("steps[1].move = { \"tray\": { \"by\": 30000000 } }", "steps[1].move.tray.by: 30000000 mm is more than the drive's 32-bit counts hold")]
    [InlineData("steps[1].velocity = 251", "steps[1].velocity: 251 mm/s must be above 0 and at most the limit of tray, 250 mm/s")]
    [InlineData("steps[1].velocity = 0", "steps[1].velocity: 0 mm/s must be above 0 and at most the limit of tray, 250 mm/s")]
    [InlineData("steps[0].velocity = \"$depth\"\nparameters.depth.minimum = 0", "steps[0].velocity: $depth (0 to 60) mm/s must be above 0 and at most the limit of dibber, 250 mm/s")]
    [InlineData("steps[4].velocity = 3", "steps[4].velocity: goes with \"move\"; a contact has its own velocity inside, other steps have none")]
    [InlineData("steps[4].deceleration = 3", "steps[4].deceleration: goes with \"move\"; other steps have none")]
    [InlineData("steps[1].acceleration = 2001", "steps[1].acceleration: 2001 mm/s² must be above 0 and at most the limit of tray, 1000 mm/s²")]
    [InlineData("steps[1].deceleration = 0", "steps[1].deceleration: 0 mm/s² must be above 0 and at most the limit of tray, 1000 mm/s²")]
    [InlineData("steps[1].deceleration = \"$depht\"", "steps[1].deceleration: no parameter \"depht\"; did you mean \"depth\"?")]
    [InlineData("steps[1].approach = { \"velocity\": 20 }", "steps[1].approach: says no length above 0; give \"endDistance\", \"startDistance\" or both")]
    [InlineData("steps[1].approach = { \"endDistance\": 5 }", "steps[1].approach.velocity: is missing: the slow speed")]
    [InlineData("steps[1].approach = { \"velocity\": 251, \"endDistance\": 5 }", "steps[1].approach.velocity: 251 mm/s must be above 0 and at most the limit of tray, 250 mm/s")]
    [InlineData("steps[1].approach = { \"velocity\": 20, \"endDistance\": -5 }", "steps[1].approach.endDistance: -5 must not be below 0: it is a length")]
    [InlineData("steps[0].move = { \"drum\": { \"to\": 90, \"direction\": \"left\" } }", "steps[0].move.drum.direction: \"left\" is none of \"shortest\", \"positive\", \"negative\"")]
    [InlineData("steps[0].move = { \"drum\": { \"by\": 90, \"direction\": \"positive\" } }", "steps[0].move.drum.direction: goes with \"to\"; a distance has its direction by its sign")]
    [InlineData("steps[0].move = { \"dibber\": { \"to\": 90, \"direction\": \"positive\" } }", "steps[0].move.dibber.direction: dibber is no endless axis: there is one way to a position; take it out")]
    [InlineData("steps[0].move = { \"drum\": { \"to\": 90, \"by\": 9 } }", "steps[0].move.drum.by: is a distance, and \"to\" is a position; take one of the two out")]
    [InlineData("steps[0].move = { \"drum\": { \"to\": 361, \"direction\": \"positive\" } }", "steps[0].move.drum.to: 361 deg is more than a turn of drum, 360 deg; to go farther say { \"by\": … }")]
    [InlineData("steps[0].move = { \"drum\": {} }", "steps[0].move.drum.by: is missing: the distance, or say \"to\" and a position")]
    [InlineData("steps[4].move = { \"dibber\": 0 }", "steps[4]: exactly one of \"move\", \"contact\", \"waitMs\", \"waitInput\", \"setOutput\", \"raiseAlarm\", \"clearAlarm\", \"count\", \"repeat\" is expected, found \"move\", \"waitMs\"")]
    [InlineData("steps[4].waitMs -", "steps[4]: exactly one of \"move\", \"contact\", \"waitMs\", \"waitInput\", \"setOutput\", \"raiseAlarm\", \"clearAlarm\", \"count\", \"repeat\" is expected, found none")]
    [InlineData("steps[4].waitMs = -1", "steps[4].waitMs: -1 must be 0 to 3600000 ms")]
    [InlineData("steps[3].contact.axis = \"dipper\"", "steps[3].contact.axis: no axis \"dipper\"; did you mean \"dibber\"?")]
    [InlineData("steps[3].contact.toward = 200", "steps[3].contact.toward: 200 mm is outside the limits of dibber, 0 to 180 mm")]
    [InlineData("steps[3].contact.torque = 26", "steps[3].contact.torque: 26 % must be above 0 and at most torque.contact of dibber, 25 %")]
    [InlineData("steps[3].contact.torque = 0", "steps[3].contact.torque: 0 % must be above 0 and at most torque.contact of dibber, 25 %")]
    [InlineData("steps[3].contact.velocity = 300", "steps[3].contact.velocity: 300 mm/s must be above 0 and at most the limit of dibber, 250 mm/s")]
    [InlineData("steps[3].contact.velocity -", "steps[3].contact.velocity: is missing: the velocity of the move")]
    [InlineData("steps[5].repeat.times = 0", "steps[5].repeat.times: 0 must be 1 to 1000000")]
    [InlineData("steps[5].repeat.times = 1000000", "steps[5].repeat.times: comes to 3000000 steps; at most 1000000 are allowed")]
    [InlineData("steps[5].repeat.steps = []", "steps[5].repeat.steps: is empty; name at least one earlier step")]
    [InlineData("steps[5].repeat.steps = [\"lif\"]", "steps[5].repeat.steps[0]: no step \"lif\"; did you mean \"lift\"?")]
    [InlineData("steps[5].repeat.steps = [\"again\"]", "steps[5].repeat.steps[0]: a repeat can't repeat itself")]
    [InlineData("steps[0] = { \"name\": \"early\", \"repeat\": { \"steps\": [\"dib\"], \"times\": 1 } }\nsteps[5] -", "steps[0].repeat.steps[0]: step \"dib\" stands behind this one; a repeat names earlier steps")]
    [InlineData("steps[6] = { \"name\": \"w\", \"waitInput\": { \"input\": \"tray.input9\", \"closed\": true, \"timeoutMs\": 5000 } }", "steps[6].waitInput.input: \"tray.input9\": drive \"Reference drive\" has no input \"input9\"; did you mean \"input1\"?")]
    [InlineData("steps[6] = { \"name\": \"w\", \"waitInput\": { \"input\": \"trai.input1\", \"closed\": true, \"timeoutMs\": 5000 } }", "steps[6].waitInput.input: \"trai.input1\": no axis \"trai\"; did you mean \"tray\"?")]
    [InlineData("steps[6] = { \"name\": \"w\", \"waitInput\": { \"input\": \"tray.input1\", \"closed\": true, \"timeoutMs\": 0 } }", "steps[6].waitInput.timeoutMs: 0 must be above 0 and at most 3600000 ms")]
    [InlineData("steps[6] = { \"name\": \"w\", \"waitInput\": { \"input\": \"tray.input1\", \"timeoutMs\": 5 } }", "steps[6].waitInput.closed: is missing: true to wait until it is closed, false until it is open")]
    [InlineData("steps[6] = { \"name\": \"o\", \"setOutput\": { \"output\": \"drum.output1\", \"on\": true } }", "steps[6].setOutput.output: \"drum.output1\": drive \"Reference drive\" has no output \"output1\"; it declares none")]
    [InlineData("steps[6] = { \"name\": \"o\", \"setOutput\": { \"output\": \"output1\", \"on\": true } }", "steps[6].setOutput.output: no output \"output1\", and none of a drive, which is named AXIS.NAME")]
    public void Read_OneThingWrong_IsTheOneError(string edits, string expected) =>
        Assert.Equal([expected], Errors(edits, Samples.Example("machine.json"), "sow-tray.routine.json"));

    [Theory]
    [InlineData("parameters -\nsteps[3].contact.toward = 30")]
    [InlineData("steps[0].move = { \"drum\": -90, \"tray\": 3200 }")]
    [InlineData("steps[1].velocity = \"$depth\"")]
    [InlineData("steps[1].move = { \"tray\": { \"by\": \"$depth\" } }")]
    [InlineData("steps[6] = { \"name\": \"all of it\", \"repeat\": { \"steps\": [\"again\", \"again\", \"index\"], \"times\": 1000 } }")]
    [InlineData("steps[6] = { \"name\": \"w\", \"waitInput\": { \"input\": \"tray.input1\", \"closed\": false, \"timeoutMs\": 5000 } }")]
    public void Read_UnusualButGood_IsAccepted(string edits) =>
        Assert.Empty(Errors(edits, Samples.Example("machine.json"), "sow-tray.routine.json"));

    [Fact]
    public void Read_NestedRepeats_AreCountedThrough()
    {
        var edits = """steps[6] = { "name": "all of it", "repeat": { "steps": ["again"], "times": 111112 } }""";

        Assert.Equal(
            ["steps[6].repeat.times: comes to 1000008 steps; at most 1000000 are allowed"],
            Errors(edits, Samples.Example("machine.json"), "sow-tray.routine.json"));
    }

    [Theory]
    [InlineData("feedback[3] -", "", "steps[0].contact.axis: drive \"Reference drive\" of dibber declares no feedback field \"torque\": the contact could not be seen")]
    [InlineData("command[6] -", "axes[0].torque -", "steps[0].contact.axis: drive \"Reference drive\" of dibber declares no command field \"torqueLimit\": the press could not be limited")]
    [InlineData("command[3] -", "axes[0].followingError -", "steps[0].contact.velocity: drive \"Reference drive\" of dibber declares no command field \"profileVelocity\": its velocity can't be set")]
    public void Read_ContactWithADriveThatCannot_IsRefused(string driveEdits, string machineEdits, string expected)
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), driveEdits));
        var machine = folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), machineEdits));
        var routine = """steps = [{ "name": "dib", "contact": { "axis": "dibber", "toward": 30, "torque": 20, "velocity": 30 } }]""";

        Assert.Equal([expected], Errors(routine, machine, "sow-tray.routine.json"));
    }

    [Theory]
    [InlineData("command[4] -", "acceleration", "profileAcceleration")]
    [InlineData("command[5] -", "deceleration", "profileDeceleration")]
    public void Read_RampOfADriveThatCannot_IsRefused(string driveEdits, string member, string field)
    {
        using var folder = new TestFolder();
        folder.Write("reference.drive.json", EditedJson.Apply(Samples.Example("reference.drive.json"), driveEdits));
        var machine = folder.Write("machine.json", EditedJson.Apply(Samples.Example("machine.json"), "axes[0].followingError -"));
        var routine = $$"""steps = [{ "name": "lift", "move": { "dibber": 0 }, "{{member}}": 100 }]""";

        Assert.Equal(
            [$"steps[0].{member}: drive \"Reference drive\" of dibber declares no command field \"{field}\": its ramp can't be set"],
            Errors(routine, machine, "sow-tray.routine.json"));
    }

    [Fact]
    public void Read_MoveStep_EveryMemberArrives()
    {
        var routine = Samples.Routine(Samples.Example("everything.routine.json"), Samples.Machine(Samples.Example("everything.json")));

        var move = Assert.IsType<MoveStep>(routine.Steps[0]);
        Assert.Equal((new RoutineValue(1000, null), new RoutineValue(0, "p")), (move.Acceleration, move.Deceleration));
        Assert.Equal(new RoutineApproach(new(5, null), new(3, null), new(0, "p")), move.Approach);
        Assert.Equal([new AxisTarget(1, new(90, null), false) { Direction = RoutineDirection.Negative }], Assert.IsType<MoveStep>(routine.Steps[1]).Targets);
    }

    [Fact]
    public void Read_Outputs_AreResolved()
    {
        var machine = Samples.Machine(Samples.Demo("machine.json"));
        var routine = Samples.Routine(Samples.Demo("sow-tray.routine.json"), machine);

        Assert.Contains(new SetOutputStep("suck seeds", machine.AxisIndex("drum"), "output1", true), routine.Steps);
    }

    private static string[] Errors(string edits, string machineFile, string example)
    {
        using var folder = new TestFolder();
        var machine = Samples.Machine(machineFile);
        var result = RoutineFile.Read(folder.Write("a.routine.json", EditedJson.Apply(Samples.Example(example), edits)), machine);
        Assert.Equal(result.Errors.Count == 0, result.IsGood);
        return [.. result.Errors.Select(error => $"{error.Path}: {error.Message}")];
    }
}
