using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Configuration.Parameters;
using Supervisor.Daemon.Client;
using Supervisor.Records;

namespace Supervisor.Daemon.Verbs.Drives;

/// <summary>Loads a set: plan, identity, then writing under authority in maintenance mode, then the reset of what the exchange of a drive latches.</summary>
internal sealed class DriveLoad
{
    private const string Maintenance = "maintenance";
    private static readonly TimeSpan LongestSilence = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(100);

    // The drive's parameters are compared once more after a load, and a drive that saved may have to be met anew; the reset waits for that.
    private const int ResetAttempts = 100;
    private static readonly string[] Passing = ["PARAMETERS_IN_USE", "AXIS_OFFLINE"];

    private readonly Dictionary<string, ParameterWritten> _written = [];

    public required string Axis { get; init; }

    public required string File { get; init; }

    public required ReadParameterSet Set { get; init; }

    public required bool Confirmed { get; init; }

    public required IReadOnlyList<string> Accepted { get; init; }

    public required bool Json { get; init; }

    public async Task<int> RunAsync(DaemonConnection daemon, CancellationToken cancellation)
    {
        var plan = await DriveVerb.PlanAsync(daemon, Axis, Set, cancellation);
        if (!Json)
        {
            DriveText.TellIdentity(plan);
            DriveText.PrintPlan(plan);
        }

        if (Objection(plan) is { } objection)
        {
            return Tell(plan, new WriteEnded { Message = objection }, reset: false);
        }

        if (!Confirmed)
        {
            return Tell(plan, UnconfirmedLoad.Of(Axis, plan, await FaultAsync(daemon, cancellation)), reset: false);
        }

        await using var authority = await HeldAuthority.TakeAsync(daemon, $"{Environment.UserName} (drive load, process {Environment.ProcessId})", cancellation);
        var (ended, reset) = await WriteInMaintenanceAsync(daemon, authority.Token, plan, cancellation);
        await authority.ReleaseAsync(letCommandsFinish: true);
        return Tell(plan, ended, reset);
    }

    private string? Objection(DrivePlan plan)
    {
        if (plan.Problems.Count > 0)
        {
            return $"nothing was written: {string.Join("; ", plan.Problems)}";
        }

        var open = plan.Identity.Where(difference => !Accepted.Contains(difference.Word)).ToArray();
        return open.Length == 0 ? null
            : $"nothing was written: {string.Join("; ", open.Select(difference => difference.Message))}; where that is meant, add {string.Join(" ", open.Select(difference => $"--accept {difference.Word}"))}";
    }

    private async Task<(WriteEnded Ended, bool Reset)> WriteInMaintenanceAsync(DaemonConnection daemon, string token, DrivePlan plan, CancellationToken cancellation)
    {
        var before = (await daemon.Status.GetStatusAsync(new GetStatusRequest(), cancellationToken: cancellation)).Status.Mode;
        if (before != Maintenance && await ChooseAsync(daemon, token, Mode.Maintenance, cancellation) is { } refused)
        {
            return (new WriteEnded { Message = $"nothing was written: {refused}" }, false);
        }

        try
        {
            var ended = await WriteAsync(daemon, token, plan, cancellation);
            return (ended, ended.Complete && await ResetAsync(daemon, token, cancellation));
        }
        finally
        {
            var back = before == "manual" ? Mode.Manual : Mode.Production;
            if (before != Maintenance && await ChooseAsync(daemon, token, back, CancellationToken.None) is { } stays)
            {
                Terminal.Error($"the machine stays in maintenance mode: {stays}");
            }
        }
    }

    private async Task<WriteEnded> WriteAsync(DaemonConnection daemon, string token, DrivePlan plan, CancellationToken cancellation)
    {
        var request = new WriteParametersRequest { AuthorityToken = token, Axis = Axis };
        request.Values.AddRange(plan.Parameters.Where(parameter => parameter.Wanted is not null)
            .Select(parameter => new ParameterValue { Name = parameter.Name, Value = parameter.Wanted!.Value }));
        if (plan.SerialNumber is { } serial)
        {
            request.SerialNumber = serial;
        }

        try
        {
            using var call = daemon.Drive.WriteParameters(request, cancellationToken: cancellation);
            while (await call.ResponseStream.MoveNext(cancellation).WaitAsync(LongestSilence, cancellation))
            {
                if (Take(call.ResponseStream.Current) is { } ended)
                {
                    return ended;
                }
            }

            return Lost("the daemon ended the stream");
        }
        catch (RpcException exception) when (!cancellation.IsCancellationRequested)
        {
            var refusal = ApiRefusal.From(exception);
            return refusal.Reason.Length > 0 && _written.Count == 0 ? new WriteEnded { Message = $"nothing was written: {Terminal.Sentence(refusal)}" } : Lost(refusal.Message);
        }
        catch (TimeoutException)
        {
            return Lost("connection to the daemon lost");
        }
        catch (Exception exception) when (exception is OperationCanceledException or RpcException)
        {
            Terminal.Error($"{Axis}: what was begun is written to its end by the daemon; compare before the axis is used");
            throw;
        }
    }

    private WriteEnded? Take(WriteParametersResponse response)
    {
        if (response.Parameter is { } parameter)
        {
            _written[parameter.Name] = parameter;
            if (!Json)
            {
                Console.Out.WriteLine($"{parameter.Name}: {DriveText.Of(parameter)}");
            }
        }

        return response.Ended;
    }

    private WriteEnded Lost(string why) => new()
    {
        Message = $"{why} after {Counted.Of(_written.Count, "parameter")}; the daemon may have written the rest: compare before the axis is used",
    };

    private async Task<bool> ResetAsync(DaemonConnection daemon, string token, CancellationToken cancellation)
    {
        if (!UnconfirmedLoad.Answers(await FaultAsync(daemon, cancellation)))
        {
            return false;
        }

        for (var attempt = 1; ; attempt++)
        {
            var result = await CommandRun.FollowAsync(
                daemon.Motion.Reset(new ResetRequest { AuthorityToken = token, Axes = { Axis } }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation);
            var reason = result.Refusal?.Reason ?? result.Ended?.Reason ?? "";
            if (result.IsGood || !Passing.Contains(reason) || attempt == ResetAttempts)
            {
                if (!result.IsGood)
                {
                    Terminal.Error($"the reset was refused: {result.Refusal?.Message ?? result.Ended?.Message}");
                }

                return result.IsGood;
            }

            await Task.Delay(Look, cancellation);
        }
    }

    private async Task<string> FaultAsync(DaemonConnection daemon, CancellationToken cancellation) =>
        (await daemon.Status.GetStatusAsync(new GetStatusRequest(), cancellationToken: cancellation)).Status.Axes.Single(axis => axis.Name == Axis).Fault;

    /// <summary>Null when chosen, else why not.</summary>
    private static async Task<string?> ChooseAsync(DaemonConnection daemon, string token, Mode mode, CancellationToken cancellation)
    {
        var result = await CommandRun.FollowAsync(
            daemon.Motion.ChooseMode(new ChooseModeRequest { AuthorityToken = token, Mode = mode }, cancellationToken: cancellation), answer => answer.Event, wait: true, cancellation);
        return result.IsGood ? null : result.Refusal?.Message ?? result.Ended?.Message;
    }

    private int Tell(DrivePlan plan, WriteEnded ended, bool reset)
    {
        if (Json)
        {
            JsonOut.Print(
                new DriveLoadedJson(
                    Axis, File, ended.Complete, ended.Saved, reset, ended.Message, [.. plan.Parameters.Select(ToJson)], DriveText.Identity(plan), plan.Problems),
                JsonShapes.Readable.DriveLoadedJson);
        }
        else if (ended.Complete)
        {
            Console.Out.WriteLine(reset ? $"{ended.Message}; {Axis} is reset: home it before it is used" : ended.Message);
        }

        if (!ended.Complete)
        {
            Terminal.Error(ended.Message);
        }

        return ended.Complete ? ExitCode.Done : ExitCode.Failed;
    }

    private LoadedParameterJson ToJson(PlannedParameter parameter)
    {
        _written.TryGetValue(parameter.Name, out var written);
        return new LoadedParameterJson(
            parameter.Name, DriveText.NotEmpty(parameter.Unit), parameter.File, parameter.Drive, parameter.Wanted, DriveText.NotEmpty(parameter.Note),
            written is null ? null : DriveText.Word(written.Outcome), written is { HasAfter: true } ? written.After : null);
    }
}
