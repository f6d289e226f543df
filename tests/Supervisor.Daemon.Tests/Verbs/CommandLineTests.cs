using Supervisor.Daemon.Verbs;

namespace Supervisor.Daemon.Tests.Verbs;

public sealed class CommandLineTests
{
    [Theory]
    [InlineData("move dibber 30")]
    [InlineData("move dibber -30.5")]
    [InlineData("move dibber -.5 gantry 1e2 --by --velocity 20")]
    [InlineData("move --velocity 20 dibber 30 --no-wait")]
    [InlineData("contact dibber --toward -60 --torque 20 --velocity 30")]
    [InlineData("enable")]
    [InlineData("home dibber gantry")]
    [InlineData("stop --json")]
    [InlineData("status --server unix:/tmp/x.sock")]
    [InlineData("serve --config machine.json --device a=/dev/x --device b=/dev/y")]
    [InlineData("simulate machine.json --link-dir links")]
    [InlineData("diagnose machine.json --device line-a=/dev/x --json")]
    [InlineData("faults --limit 5 --axis dibber")]
    [InlineData("faults --catalogue")]
    [InlineData("faults --catalogue --json")]
    [InlineData("drive show dibber")]
    [InlineData("drive save dibber --file d.drive-parameters.json --overwrite --json")]
    [InlineData("drive compare dibber --file d.drive-parameters.json")]
    [InlineData("drive load dibber --file d.drive-parameters.json --accept serialNumber --accept firmwareVersion --confirm")]
    [InlineData("demo --cycles 3 --no-live --json")]
    public void Parse_Good_HasNoErrors(string line) => Assert.Empty(CommandLine.Build().Parse(line).Errors);

    [Theory]
    [InlineData("", "command")]
    [InlineData("frobnicate", "frobnicate")]
    [InlineData("move", "AXIS")]
    [InlineData("move dibber", "dibber")]
    [InlineData("move dibber far", "far")]
    [InlineData("move dibber NaN", "NaN")]
    [InlineData("move dibber 1e999", "1e999")]
    [InlineData("move dibber 3 --velocity fast", "fast")]
    [InlineData("contact dibber --toward 60 --torque 20", "--velocity")]
    [InlineData("serve", "--config")]
    [InlineData("simulate machine.json", "--link-dir")]
    [InlineData("faults --limit 0", "--limit")]
    [InlineData("drive save dibber", "--file")]
    [InlineData("drive load dibber --file f --accept anything", "anything")]
    [InlineData("faults --limit many", "many")]
    [InlineData("faults --catalogue --axis dibber", "--catalogue")]
    [InlineData("faults --limit 5 --catalogue", "--catalogue")]
    [InlineData("demo --cycles 0", "--cycles")]
    [InlineData("move dibber 3 --by --endless", "--by")]
    [InlineData("move drum 90 --endless --no-wait", "--no-wait")]
    [InlineData("move dibber 3 --approach 5", "--approach-end")]
    [InlineData("move dibber 3 --direction left", "left")]
    [InlineData("move dibber 3 --approach slow --approach-end 5", "slow")]
    [InlineData("move dibber 3 --approach", "--approach")]
    [InlineData("jog dibber + --for 1s", "1s")]
    [InlineData("jog dibber + --for 0", "--for")]
    [InlineData("jog dibber + --for 3601", "--for")]
    [InlineData("trace dibber --seconds long", "long")]
    [InlineData("trace dibber --channels", "--channels")]
    [InlineData("line-test /dev/ttyUSB0 3 --parity mark", "mark")]
    public void Parse_Bad_NamesWhatIsWrong(string line, string named)
    {
        var errors = CommandLine.Build().Parse(line).Errors;

        Assert.Contains(errors, error => error.Message.Contains(named, StringComparison.Ordinal));
    }

    [Fact]
    public void TryRead_Pairs_KeepOrderAndSign()
    {
        Assert.True(MoveVerb.TryRead(["dibber", "-3", "gantry", "4.5"], out var targets, out _));

        Assert.Equal([("dibber", -3.0), ("gantry", 4.5)], targets.Select(target => (target.Axis, target.Position)));
    }

    [Theory]
    [InlineData("--by", Api.V1.MoveTarget.TargetOneofCase.Distance)]
    [InlineData("--from-here", Api.V1.MoveTarget.TargetOneofCase.DistanceFromActual)]
    [InlineData("--endless", Api.V1.MoveTarget.TargetOneofCase.EndlessVelocity)]
    [InlineData("--direction positive", Api.V1.MoveTarget.TargetOneofCase.Position)]
    public void Move_Option_SaysWhatTheNumbersMean(string option, Api.V1.MoveTarget.TargetOneofCase meant)
    {
        var verb = new System.CommandLine.Command("move");
        var options = new MoveOptions();
        options.AddTo(verb, ClientOptions.NoWait());
        var request = options.Read(verb.Parse(option), [new Api.V1.MoveTarget { Axis = "drum", Position = -3 }]);

        Assert.Equal(meant, Assert.Single(request.Targets).TargetCase);
        Assert.False(request.HasDeceleration);
        Assert.Null(request.Approach);
    }

    [Fact]
    public void Move_RampsApproachAndAfter_AreInTheRequest()
    {
        var verb = new System.CommandLine.Command("move");
        var options = new MoveOptions();
        options.AddTo(verb, ClientOptions.NoWait());
        var request = options.Read(verb.Parse("--deceleration 50 --approach 5 --approach-end 20 --after"), [new Api.V1.MoveTarget { Axis = "drum", Position = 3 }]);

        Assert.Equal((50, 5, 20, 0, true), (request.Deceleration, request.Approach.Velocity, request.Approach.EndDistance, request.Approach.StartDistance, request.AfterCurrent));
    }
}
