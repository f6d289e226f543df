using System.CommandLine;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;

namespace Supervisor.Daemon.Verbs;

/// <summary><c>output NAME on|off</c> and <c>power on|off</c>.</summary>
internal static class OutputVerbs
{
    private const string On = "on";

    public static Command Output()
    {
        var name = new Argument<string>("NAME") { Description = "An output of the machine file by its name, or AXIS.NAME of a drive's." };
        var level = Level();
        var json = ClientOptions.Json();
        var verb = new Command("output", "Set a digital output, and wait until its place confirms it. Not a safety function.") { name, level, json };
        MotionRun.Add(verb, parsed =>
        {
            var (output, on) = (parsed.GetRequiredValue(name), parsed.GetRequiredValue(level) == On);
            var dot = output.StartsWith("gpio:", StringComparison.Ordinal) || output.StartsWith("module:", StringComparison.Ordinal) ? -1 : output.IndexOf('.', StringComparison.Ordinal);
            return Run($"output {output} {(on ? On : "off")}", parsed.GetValue(json), (daemon, token, wait, cancellation) => CommandRun.FollowAsync(
                daemon.Motion.SetOutput(
                    new SetOutputRequest { AuthorityToken = token, Axis = dot > 0 ? output[..dot] : "", Output = dot > 0 ? output[(dot + 1)..] : output, On = on },
                    cancellationToken: cancellation),
                answer => answer.Event, wait, cancellation));
        });
        return verb;
    }

    public static Command Power()
    {
        var level = Level();
        var json = ClientOptions.Json();
        var verb = new Command("power", "Switch the drives' power by the power-enable, and wait until the contactor's mirror contact proves it. Moves nothing; not a safety function.")
        {
            level, json,
        };
        MotionRun.Add(verb, parsed =>
        {
            var on = parsed.GetRequiredValue(level) == On;
            return Run($"power {(on ? On : "off")}", parsed.GetValue(json), (daemon, token, wait, cancellation) => CommandRun.FollowAsync(
                daemon.Motion.SwitchPower(new SwitchPowerRequest { AuthorityToken = token, On = on }, cancellationToken: cancellation),
                answer => answer.Event, wait, cancellation));
        });
        return verb;
    }

    private static Argument<string> Level()
    {
        var level = new Argument<string>("LEVEL") { Description = "on or off." };
        level.AcceptOnlyFromAmong(On, "off");
        return level;
    }

    private static MotionRun Run(string verb, bool json, Func<DaemonConnection, string, bool, CancellationToken, Task<CommandResult>> give) =>
        new() { Verb = verb, Axes = [], Wait = true, Json = json, MovesNothing = true, Give = give };
}
