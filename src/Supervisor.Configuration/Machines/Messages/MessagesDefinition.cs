using Supervisor.Records.Faults;

namespace Supervisor.Configuration.Machines.Messages;

/// <summary>A way on which incidents are told to a person who is not there: by mail, or by a request to a server.</summary>
/// <param name="Name">Name in the machine.</param>
/// <param name="LeastPriority">Incidents whose gravest fault is below it are not told.</param>
/// <param name="PerHour">Most messages in any hour, 1 to 120; what is above goes out together as one.</param>
/// <param name="Settle">Time without a further fault after which an incident is told, 1 s to 10 minutes.</param>
/// <param name="TellsEnd">True: once every axis of an incident is back, that is told too.</param>
/// <param name="Language">Language of the builder's own texts, where they have it, such as <c>de</c>.</param>
public sealed record MessageChannel(string Name, FaultPriority LeastPriority, int PerHour, TimeSpan Settle, bool TellsEnd, string Language)
{
    /// <summary>Mail; null where it goes by a request.</summary>
    public EmailDefinition? Email { get; init; }

    /// <summary>A request; null where it goes by mail.</summary>
    public WebhookDefinition? Webhook { get; init; }
}

/// <summary>Mail by SMTP (RFC 5321).</summary>
/// <param name="Server">Name or address of the server.</param>
/// <param name="Port">Its port.</param>
/// <param name="Security">How the connection is protected.</param>
/// <param name="From">Address of the sender.</param>
/// <param name="To">Addresses of the receivers, at least one.</param>
public sealed record EmailDefinition(string Server, int Port, MailSecurity Security, string From, IReadOnlyList<string> To)
{
    /// <summary>Name to log in with; null: without.</summary>
    public string? User { get; init; }

    /// <summary>Where the password is.</summary>
    public SecretPlace? Password { get; init; }

    /// <summary>File with the certificates (PEM) that the server's must lead to; null: the system's.</summary>
    public string? CertificateAuthority { get; init; }
}

/// <summary>How a connection to a mail server is protected.</summary>
public enum MailSecurity
{
    /// <summary>Encrypted after STARTTLS (RFC 3207), or not at all used.</summary>
    StartTls = 0,

    /// <summary>Encrypted from the first byte (RFC 8314, 3.3).</summary>
    Tls = 1,

    /// <summary>In the clear.</summary>
    None = 2,
}

/// <summary>A POST of JSON by HTTP.</summary>
public sealed record WebhookDefinition
{
    /// <summary>Where to; null where it is a secret.</summary>
    public Uri? Url { get; init; }

    /// <summary>Where the secret address is; null where it is none.</summary>
    public SecretPlace? SecretUrl { get; init; }

    /// <summary>Further headers by name.</summary>
    public IReadOnlyDictionary<string, string> Headers { get; init; } = new Dictionary<string, string>();

    /// <summary>Headers whose value is a secret, by name.</summary>
    public IReadOnlyDictionary<string, SecretPlace> SecretHeaders { get; init; } = new Dictionary<string, SecretPlace>();

    /// <summary>Where the key is with which the body is signed (HMAC-SHA256, RFC 2104); null: it is not.</summary>
    public SecretPlace? SignatureKey { get; init; }

    /// <summary>Name of the header with the signature, <c>sha256=</c> and hexadecimal digits.</summary>
    public string SignatureHeader { get; init; } = "X-Signature-256";

    /// <summary>File with the certificates (PEM) that the server's must lead to; null: the system's.</summary>
    public string? CertificateAuthority { get; init; }
}

/// <summary>Where a secret is: never in the machine file.</summary>
/// <param name="Name">As the file names it: a credential of the service, or a path.</param>
/// <param name="Path">Path of the file where the service has no such credential; nobody but its owner may have access to it.</param>
public sealed record SecretPlace(string Name, string Path);
